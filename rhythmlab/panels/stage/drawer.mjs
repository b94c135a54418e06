// The drawer of a panel: parts that stay shut until one is asked for, one open at a time, their names in one row.
import { bringIntoView, element } from "./parts.mjs";
import { newId } from "./take.mjs";

const KEYS = { ArrowRight: 1, ArrowLeft: -1 };

/** Build a drawer; `add(name, opened)` puts a part in it and returns {body, open(), hide(hidden)}. */
export function makeDrawer(parent) {
  const drawer = element("div", "rl-drawer", parent);
  const names = element("div", "rl-tabs", drawer, { role: "tablist", "aria-label": "more of this panel" });
  const own = newId();
  const parts = [];
  let shown = null;

  const draw = () => {
    for (const one of parts) {
      one.body.hidden = one !== shown;
      one.tab.setAttribute("aria-selected", String(one === shown));
    }
    const [seen] = parts.filter((one) => !one.tab.hidden);
    for (const one of parts) one.tab.tabIndex = one === (shown || seen) ? 0 : -1;
  };
  const show = (part) => {
    shown = part;
    draw();
    if (part) part.opened();
  };
  names.addEventListener("keydown", (event) => {
    const seen = parts.filter((one) => !one.tab.hidden);
    const at = seen.findIndex((one) => one.tab === event.target);
    const by = KEYS[event.key];
    if (at < 0 || !by) return;
    event.preventDefault();
    const next = seen[(at + by + seen.length) % seen.length];
    if (shown) show(next);
    next.tab.focus();
  });
  const add = (name, opened = () => {}) => {
    const id = `rl-part-${own}-${parts.length}`;
    const tab = element("button", "rl-tab", names, { type: "button", role: "tab", id, "aria-controls": `${id}-body` });
    tab.textContent = name;
    const body = element("div", "rl-folded", drawer, { role: "tabpanel", id: `${id}-body`, "aria-labelledby": id });
    const part = { tab, body, opened };
    tab.addEventListener("click", () => {
      show(shown === part ? null : part);
      if (shown) bringIntoView(body, tab);
    });
    parts.push(part);
    draw();
    const hide = (hidden) => {
      if (tab.hidden === hidden) return;
      tab.hidden = hidden;
      if (hidden && shown === part) shown = null;
      draw();
    };
    return { body, open: () => show(part), hide };
  };
  return { el: drawer, add };
}
