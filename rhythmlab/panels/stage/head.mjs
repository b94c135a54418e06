// The head of a panel: its numbers or its title, its facts, the row that runs it, and the fields that it has more.
import { button, element } from "./parts.mjs";
import { drawField, noteLine, referred, refusalLine } from "./fields.mjs";

/** Build the head above the picture. `stage` is {model, engine, bar, slide, hold}. */
export function makeHead(el, { model, engine, bar, slide, hold }) {
  const head = element("div", "rl-head", el, { role: "group" });
  const title = element("div", "rl-title", head);
  const facts = element("p", "rl-facts", head);
  const under = element("div", "rl-under", el);
  const run = element("div", "rl-run", el);
  const [homes, tempo] = [element("div", "rl-homes", null, { role: "group", "aria-label": "home" }), element("span", "rl-tempo")];
  run.append(bar.start, homes, tempo, bar.volume);
  tempo.append(slide.label);
  const more = element("div", "rl-more", el);
  let [open, drawn, over] = [[], "", false];

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
    const { title: said = "", facts: counted = "" } = model.get("head") || {};
    head.hidden = !said;
    if (facts.textContent === counted && head.getAttribute("aria-label") === said) return;
    head.setAttribute("aria-label", said);
    facts.textContent = counted;
    const heading = title.querySelector(".rl-named");
    if (heading) heading.textContent = said;
  };
  const step = (held, by) => {
    const bpm = Math.round(Number(String(held.get("value")).replace(",", "."))) + by;
    if (!(bpm >= 1)) return;
    held.set("value", String(bpm));
    held.save_changes();
  };
  /** The tempo, with a button to slow it and one to raise it. */
  const drawTempo = (held) => {
    const field = drawField(held, tempo);
    button("\u2212", tempo, () => step(held, -1)).setAttribute("aria-label", "one bpm slower");
    tempo.append(slide.label);
    button("+", tempo, () => step(held, 1)).setAttribute("aria-label", "one bpm faster");
    return field;
  };
  const rowOf = (row, named) => {
    const line = element("span", "rl-row", more);
    const fields = (row.fields || []).map((held) => drawField(held, line));
    const off = [...fields.map(({ close }) => close)];
    if (row.note) off.push(noteLine(row.note, line));
    if (row.line) off.push(refusalLine(row.line, more, fields));
    else named.push(...fields);
    return off;
  };
  const draw = (parts) => {
    close();
    [title, tempo, under, more].forEach((one) => one.replaceChildren());
    const named = [];
    (parts.numbers || []).forEach((held, i) => {
      if (i) element("span", "rl-against", title, { "aria-hidden": "true" }).textContent = "against";
      const field = drawField(held, title);
      field.label.classList.add("rl-number", `rl-lane${i}`);
      named.push(field);
      open.push(field.close);
    });
    if (!(parts.numbers || []).length) element("h3", "rl-named", title).textContent = (model.get("head") || {}).title || "";
    for (const held of parts.grow || []) open.push(drawField(held, title).close);
    if (parts.tempo) {
      const field = drawTempo(parts.tempo);
      named.push(field);
      open.push(field.close);
    }
    for (const row of parts.rows || []) open.push(...rowOf(row, named));
    open.push(hold(parts));
    if (parts.line) open.push(refusalLine(parts.line, under, named));
  };
  const look = async () => {
    const given = model.get("parts") || {};
    const now = JSON.stringify(given);
    if (now === drawn) return;
    drawn = now;
    const parts = await referred(model.widget_manager, given);
    if (!over && now === drawn) draw(parts);
  };
  const close = () => open.splice(0).forEach((end) => end());
  const update = () => {
    drawHomes();
    drawFacts();
    look();
  };
  return { update, close: () => { over = true; close(); } };
}
