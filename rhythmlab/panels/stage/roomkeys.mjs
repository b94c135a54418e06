// Keys of a wall: what each asks for, and where the numbers go that are called out.

/** What each key asks for, when no field is being typed in. */
const ACTIONS = {
  f: "flip", s: "slow", g: "gaps", h: "halves", c: "clap", w: "where", b: "bare", n: "next", p: "previous",
  PageDown: "next", PageUp: "previous", "+": "faster", "-": "slower",
};
/** Keys that go from the first number to the second while the first is typed. */
const NEXT_FIELD = new Set(["Tab", " ", ":", "x"]); // a slash is of a bar, 7/8
/** What a key means on a wall: {does} an action, {field} typing begins or goes on elsewhere, or null. */
export function meant(event, inField, inPulse) {
  if (event.ctrlKey || event.metaKey || event.altKey) return null;
  if (event.key === "PageDown" || event.key === "PageUp") return { does: ACTIONS[event.key] };
  if (inField && event.key === "Enter") return { does: "enter" };
  if (inField) return inPulse && NEXT_FIELD.has(event.key) ? { field: "other" } : null;
  if (/^[0-9]$/.test(event.key)) return { field: "first" };
  const name = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  return ACTIONS[name] ? { does: ACTIONS[name] } : null;
}

/** From the first number to the second nothing is sent yet: both go together, with Enter or when they are left. */
function sendTogether(event, wall) {
  const { target } = event;
  if (!wall || !wall.contains(target) || !target.matches(".rl-number input") || !event.isTrusted) return;
  if (target.rlHeld) return event.stopImmediatePropagation();
  for (const field of wall.querySelectorAll(".rl-number input")) {
    if (field !== target) field.dispatchEvent(new Event("change", { bubbles: true }));
  }
}

/** Keys of a wall: in its panel, in full screen, and anywhere on a page of its own that shows no notebook. */
export function roomKeys(el, does, begin) {
  const key = (event) => {
    if (event.defaultPrevented) return;
    const [wall, target] = [el.closest(".rl-wall"), event.target];
    if (!wall || !target.closest) return;
    const inside = wall.contains(target);
    const alone = target === document.body && document.querySelectorAll(".rl-wall").length === 1;
    const free = alone && (document.fullscreenElement === wall || !document.querySelector(".jp-NotebookPanel"));
    if (!inside && !free) return;
    if (inside && target.matches("select, textarea")) return;
    const seen = () => [...wall.querySelectorAll(".rl-number input")].filter((field) => field.getClientRects().length);
    let fields = seen();
    const place = fields.indexOf(target);
    if (place >= 0 && event.key === "Escape") return does.back(fields); // and what hears Escape stops the sound
    const more = place >= 0 && (event.key !== "Tab" || (!event.shiftKey && place < fields.length - 1));
    const found = meant(event, target.matches("input[type=text]"), more);
    if (!found || (event.repeat && !["faster", "slower"].includes(found.does))) return;
    if (found.field === "first") {
      begin();
      fields = seen();
      if (fields[0]) fields[0].focus();
      if (fields[0]) fields[0].select(); // the figure goes where the focus now is
      return;
    }
    const aside = target.closest(".rl-folded"); // a sentence, groups, the length of the room
    if (found.does === "enter" && (aside || !fields.length)) return; // a field of its own, beside a groove
    event.preventDefault();
    if (found.field === "other") {
      const next = fields[(fields.indexOf(target) + 1) % fields.length];
      target.rlHeld = true; // while the focus goes on, its change is not sent
      next.focus();
      target.rlHeld = false;
      next.select();
    } else does[found.does](fields);
  };
  const change = (event) => sendTogether(event, el.closest(".rl-wall"));
  document.addEventListener("keydown", key, true);
  document.addEventListener("change", change, true);
  return () => {
    document.removeEventListener("keydown", key, true);
    document.removeEventListener("change", change, true);
  };
}
