// Fields that Python holds, drawn as our own: each reads and writes the model of its widget, which stays its one state.
import { drawBar } from "./bar.mjs";
import { leadToFiles } from "./links.mjs";
import { button, element, putText } from "./parts.mjs";
import { newId } from "./take.mjs";

const REFERENCE = "IPY_MODEL_";

/** What Python refers to, in the same shape: in place of each reference stands the model that it names. */
export async function referred(manager, given) {
  if (typeof given === "string" && given.startsWith(REFERENCE)) return manager.get_model(given.slice(REFERENCE.length));
  if (Array.isArray(given)) return Promise.all(given.map((one) => referred(manager, one)));
  if (!given || typeof given !== "object") return given;
  const names = Object.keys(given);
  const found = await Promise.all(names.map((name) => referred(manager, given[name])));
  return Object.fromEntries(names.map((name, i) => [name, found[i]]));
}

/** Call now and whenever one of these changes; returns how to stop. */
export function follow(held, names, call) {
  const heard = names.map((name) => `change:${name}`).join(" ");
  held.on(heard, call);
  call();
  return () => held.off(heard, call);
}

export function put(held, name, value) {
  if (held.get(name) === value) return;
  held.set(name, value);
  held.save_changes();
}

function typed(held, label, tag = "input") {
  const input = element(tag, "rl-typed", label, { ...(tag === "input" ? { type: "text" } : { rows: 8 }), autocomplete: "off", spellcheck: "false" });
  input.addEventListener(held.get("continuous_update") ? "input" : "change", () => put(held, "value", input.value));
  if (held.get("continuous_update")) input.addEventListener("focus", () => held.send({ event: "focus" }, {})); // what is refused goes back to what stands there now
  const read = () => {
    const value = held.get("value");
    if (input.value !== value) input.value = value; // what is being typed is the value already, and keeps its caret
    input.placeholder = held.get("placeholder") || "";
    input.size = Math.min(64, Math.max(3, value.length, input.placeholder.length));
  };
  input.rlBack = read; // what is typed and not sent is taken back
  return [input, follow(held, ["value", "placeholder"], read)];
}

/** A press on a number that had no focus chooses it, so that what is typed replaces it; a second one places the caret. */
export function chooseAtFirst(input) {
  let first = false;
  input.addEventListener("pointerdown", () => (first = document.activeElement !== input));
  input.addEventListener("click", () => first && input.selectionStart === input.selectionEnd && input.select());
}

function chosen(held, label) {
  const select = element("select", "", label);
  select.addEventListener("change", () => put(held, "index", select.selectedIndex));
  const read = () => {
    const names = held.get("_options_labels") || [];
    if (JSON.stringify([...select.options].map((one) => one.text)) !== JSON.stringify(names)) {
      select.replaceChildren(...names.map((name) => new Option(name)));
    }
    select.selectedIndex = held.get("index") ?? -1;
  };
  return [select, follow(held, ["index", "_options_labels"], read)];
}

function ticked(held, label) {
  const box = element("input", "", label, { type: "checkbox" });
  box.addEventListener("change", () => put(held, "value", box.checked));
  return [box, follow(held, ["value"], () => (box.checked = Boolean(held.get("value"))))];
}

const KINDS = { TextModel: typed, TextareaModel: (held, label) => typed(held, label, "textarea"), DropdownModel: chosen, CheckboxModel: ticked };

/** Whether the widget is there to be seen. */
function shownWith(held, el) {
  const layout = held.get("layout");
  if (!layout?.on) return () => {};
  return follow(layout, ["display"], () => (el.hidden = layout.get("display") === "none"));
}

/** A choice that is in sight as a whole: a button for each, of which one is pressed. */
function inSight(held, parent) {
  const row = element("div", "rl-picked", parent, { role: "group" });
  const name = element("span", "", row, { "aria-hidden": "true" });
  const close = follow(held, ["description", "index", "_options_labels"], () => {
    const names = held.get("_options_labels") || [];
    name.textContent = held.get("description");
    row.setAttribute("aria-label", held.get("description"));
    while (row.childElementCount > names.length + 1) row.lastChild.remove();
    while (row.childElementCount <= names.length) {
      const index = row.childElementCount - 1;
      button("", row, () => put(held, "index", index));
    }
    names.forEach((text, i) => {
      row.children[i + 1].textContent = text;
      row.children[i + 1].setAttribute("aria-pressed", String(i === held.get("index")));
    });
  });
  return { name: () => held.get("description"), input: row, label: row, close };
}

/** A field with its name beside it, or a button. Returns {name(), input, label, close()}. */
export function drawField(held, parent) {
  if (held.get("_model_name") === "ToggleButtonsModel") return inSight(held, parent);
  if (held.get("_model_name") === "ButtonModel") {
    const made = button("", parent, () => held.send({ event: "click" }, {}));
    const off = [follow(held, ["description"], () => (made.textContent = held.get("description"))), shownWith(held, made)];
    return { name: () => "", input: made, label: made, close: () => off.forEach((end) => end()) };
  }
  const label = element("label", "rl-field", parent);
  const shown = element("span", "", label);
  const [input, unread] = KINDS[held.get("_model_name")](held, label);
  const name = () => held.get("description");
  const off = [unread, follow(held, ["description"], () => (shown.textContent = name())), shownWith(held, label)];
  off.push(follow(held, ["disabled"], () => (input.disabled = Boolean(held.get("disabled")))));
  return { name, input, label, close: () => off.forEach((end) => end()) };
}

const refused = (parent) =>
  element("p", "rl-refused", parent, { role: "status", id: newId() });

/**
 * A line that says what fields refuse, and marks each that is not followed; `fields` are those it may speak of, and
 * of those in a row it is said right under that row.
 */
export function refusalLine(held, parent, fields) {
  const lines = new Map([[undefined, refused(parent)]]);
  for (const { row } of fields) {
    if (lines.has(row)) continue;
    lines.set(row, refused());
    row.after(lines.get(row));
  }
  const off = follow(held, ["text", "field", "others"], () => {
    const [text, wrong] = [held.get("text"), [held.get("field"), ...(held.get("others") || [])]];
    const line = lines.get(fields.find(({ name }) => name() === wrong[0])?.row);
    for (const one of lines.values()) putText(one, one === line ? text : "");
    for (const { name, input } of fields) {
      const blamed = text !== "" && wrong.includes(name());
      input.ariaInvalid = blamed || null;
      if (blamed) input.setAttribute("aria-describedby", line.id);
      else input.removeAttribute("aria-describedby");
    }
  });
  return () => {
    off();
    for (const one of lines.values()) one.remove();
  };
}

/** A row of Python's: its fields, its bar, its note, and under it the line that says what one of them refuses. */
export function drawRow(row, parent, named) {
  const line = element("span", "rl-row", parent);
  const fields = (row.fields || []).map((held) => drawField(held, line));
  const off = fields.map(({ close }) => close);
  if (row.bar) off.push(drawBar(row.bar, line));
  if (row.note) off.push(noteLine(row.note, line, row.answers === true, row.wide));
  if (row.line) off.push(refusalLine(row.line, parent, fields));
  else named.push(...fields.map((field) => ({ ...field, row: line })));
  return off;
}

/**
 * A note of Python's beside a field; `live` if it answers a button, and so is read out. One that may be `wide`, which
 * is then its name, is moved under its own edge, by keys too.
 */
export function noteLine(held, parent, live = false, wide = "") {
  const moved = wide ? { role: "group", tabindex: "0", "aria-label": wide } : {};
  const note = element("span", wide ? "rl-note rl-wide" : "rl-note", parent, live ? { role: "status" } : moved);
  return follow(held, ["value"], () => {
    note.innerHTML = held.get("value");
    for (const one of note.querySelectorAll("[role=status]")) one.removeAttribute("role"); // one that comes with its text is not heard
    leadToFiles(note, held.widget_manager);
  });
}
