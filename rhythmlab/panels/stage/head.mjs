// The head of a panel: its numbers or its title, its facts, the row that runs it and says what is seen, and the fields that it has more.
import { button, element, putText } from "./parts.mjs";
import { STEP } from "./slide.mjs";
import { chooseAtFirst, drawField, drawRow, put, referred, refusalLine } from "./fields.mjs";

/** A card as narrow as on a phone, in px, as in stage.css. */
export const NARROW = 520;
/** Letters of a title from which on it is written smaller. */
const LONG_TITLE = 45;

/** Build the head above the picture. `stage` is {model, engine, bar, slide, hold}, on a wall also what `nudge`s the tempo by `STEP`. */
export function makeHead(el, { model, engine, bar, slide, hold, nudge = null }) {
  el.classList.add("rl-card");
  const head = element("div", "rl-head", el, { role: "group" });
  const title = element("div", "rl-title", head);
  const facts = element("p", "rl-facts", head);
  const under = element("div", "rl-under", el);
  const run = element("div", "rl-run", el);
  const [homes, tempo] = [element("div", "rl-homes", null, { role: "group", "aria-label": "home" }), element("span", "rl-tempo")];
  const beside = element("span", "rl-row");
  run.append(bar.start, homes, tempo, beside, bar.volume);
  tempo.append(slide.label);
  const more = element("div", "rl-more", el);
  const [later, last] = [element("div", "rl-later"), element("div", "rl-later")]; // on a phone, under the picture and the drawer
  const tries = element("div", "rl-tries", null, { role: "group", "aria-label": "try" });
  let [open, drawn, over, faster, narrow] = [[], "", false, null, false];

  /** Put what is not needed to start where the width of the card has it; the order of keys is the one that is seen. */
  const place = () => {
    const focused = document.activeElement;
    if (narrow) {
      later.append(beside, more);
      last.append(...(faster ? [slide.label] : []), bar.volume);
    } else {
      if (faster) faster.before(slide.label);
      run.append(beside, bar.volume);
      run.after(more);
    }
    if (focused !== document.activeElement && el.contains(focused)) focused.focus();
  };
  const watch = new ResizeObserver(([{ contentRect }]) => {
    if (nudge || contentRect.width === 0 || (contentRect.width <= NARROW) === narrow) return;
    narrow = !narrow;
    place();
  });
  watch.observe(el);

  const drawHomes = () => {
    const [names, now] = [model.get("pictures").map((one) => one.home), model.get("home")];
    homes.hidden = names.length < 2;
    if (homes.hidden) return;
    if (homes.childElementCount !== names.length + 1) {
      homes.replaceChildren();
      element("span", "", homes, { "aria-hidden": "true" }).textContent = "home";
      names.forEach((_, home) => button("", homes, () => engine.flip(home)));
    }
    names.forEach((name, home) => {
      const [one, is] = [homes.children[home + 1], home === now];
      one.textContent = name.replace(/^the /, "");
      one.setAttribute("aria-pressed", String(is));
      one.setAttribute("aria-label", is ? `home is ${name}` : `Flip home to ${name}`);
    });
  };
  const drawFacts = () => {
    const { title: said = "", facts: counted = "", named: over = false } = model.get("head") || {};
    const heading = title.querySelector(".rl-named");
    head.hidden = !said;
    head.setAttribute("aria-label", said);
    putText(facts, counted);
    if (!heading) return;
    putText(heading, said);
    heading.hidden = !over && title.querySelector(".rl-number") !== null;
    heading.classList.toggle("rl-long", said.length > LONG_TITLE);
  };
  const step = (held, by) => {
    if (nudge) return nudge(by);
    const bpm = Math.round(Number(String(held.get("value")).replace(",", "."))) + by;
    if (!(bpm >= 1)) return;
    put(held, "value", String(bpm));
  };
  const drawNumber = (held, parent, named, row) => {
    const field = drawField(held, parent);
    chooseAtFirst(field.input);
    named.push({ ...field, row });
    open.push(field.close);
    return field.label;
  };
  /** The tempo, with a button to slow it and one to raise it. */
  const drawTempo = (held, named) => {
    drawNumber(held, tempo, named, tempo);
    const many = nudge ? `${STEP} bpm` : "one bpm";
    button("\u2212", tempo, () => step(held, -1)).setAttribute("aria-label", `${many} slower`);
    tempo.append(slide.label);
    faster = button("+", tempo, () => step(held, 1));
    faster.setAttribute("aria-label", `${many} faster`);
  };
  const draw = (parts) => {
    close();
    [title, tempo, beside, under, more, tries].forEach((one) => one.replaceChildren());
    faster = null;
    const named = [];
    (parts.numbers || []).forEach((held, i) => {
      if (i) element("span", "rl-against", title, { "aria-hidden": "true" }).textContent = "against";
      drawNumber(held, title, named).classList.add("rl-number", `rl-lane${i}`);
    });
    element("h3", "rl-named", title);
    for (const held of parts.grow || []) open.push(drawField(held, title).close);
    if (parts.tempo) drawTempo(parts.tempo, named);
    else tempo.append(slide.label);
    for (const row of parts.rows || []) open.push(...drawRow(row, (row.fields || []).includes(parts.view) ? beside : more, named));
    open.push(hold(parts));
    if ((parts.tries || []).length) element("span", "", tries, { "aria-hidden": "true" }).textContent = "try";
    for (const held of parts.tries || []) open.push(drawField(held, tries).close);
    tries.hidden = tries.childElementCount === 0;
    place();
    if (parts.line) open.push(refusalLine(parts.line, under, named));
    drawFacts();
  };
  const look = async () => {
    const given = model.get("parts") || {};
    const now = JSON.stringify(given);
    if (now === drawn) return;
    drawn = now;
    const parts = await referred(model.widget_manager, given);
    if (!over && now === drawn) keepingFocus(() => draw(parts));
  };
  /** Where what has the focus is drawn anew, what has its name then has it; else the last number. */
  const keepingFocus = (redraw) => {
    const said = (one) => one.labels?.[0]?.textContent || one.textContent;
    const now = document.activeElement;
    const name = [title, tempo, beside, more].some((part) => part.contains(now)) ? said(now) : "";
    redraw();
    if (!name) return;
    const all = [title, tempo, beside, more].flatMap((part) => [...part.querySelectorAll("input, select, button")]);
    (all.find((one) => said(one) === name) || all.findLast((one) => one.closest(".rl-number")))?.focus();
  };
  const close = () => open.splice(0).forEach((end) => end());
  const update = () => {
    drawHomes();
    drawFacts();
    look();
  };
  return { tries, later, last, update, close: () => { over = true; watch.disconnect(); close(); } };
}
