// Small form parts, all native, so that each has its name and its keys.

export function element(tag, className, parent, attributes = {}) {
  const made = document.createElement(tag);
  made.className = className;
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  if (parent) parent.append(made);
  return made;
}

export function button(text, parent, pressed) {
  const made = element("button", "rl-button", parent, { type: "button" });
  made.textContent = text;
  made.addEventListener("click", pressed);
  return made;
}

/** Write what is not written there yet: what is written anew is read out anew. */
export function putText(el, text) {
  if (el.textContent !== text) el.textContent = text;
}

/** How long what is opened may still grow, in ms. */
const SETTLES_MS = 300;

/** Scroll as little as shows what the reader has just opened, and in any case its beginning; once more where it grows. */
export function bringIntoView(el, beginning) {
  const watch = new ResizeObserver(() => {
    for (const one of [el, beginning]) one.scrollIntoView({ block: "nearest" });
  });
  watch.observe(el);
  setTimeout(() => watch.disconnect(), SETTLES_MS);
}

/** Say whether one can still go back, and on; where the button in focus has come to its end the other one has it. */
export function setEnds(back, on, first, last) {
  const now = document.activeElement;
  [back.disabled, on.disabled] = [first, last];
  if (now === on && last) back.focus();
  if (now === back && first) on.focus();
}

/** A choice: `options` are [value, text]; `chosen` gets the value. */
export function choice(text, parent, options, chosen) {
  const label = element("label", "rl-field", parent);
  const shown = element("span", "", label);
  const select = element("select", "", label);
  const name = (said) => {
    if (shown.textContent === said) return;
    shown.textContent = said;
    select.setAttribute("aria-label", said);
  };
  name(text);
  let offered = "";
  const offer = (list) => {
    const [before, now] = [select.value, JSON.stringify(list)];
    if (now === offered) return;
    offered = now;
    select.replaceChildren(
      ...list.map(([value, said]) => {
        const option = document.createElement("option");
        [option.value, option.textContent] = [String(value), said];
        return option;
      }),
    );
    if (list.some(([value]) => String(value) === before)) select.value = before;
  };
  offer(options);
  select.addEventListener("change", () => chosen(select.value));
  return { label, select, offer, name };
}

/** A number between two ends, as a native range; `said` writes it out. */
export function range(text, parent, { min, max, step, said }, moved) {
  const label = element("label", "rl-field", parent);
  element("span", "", label).textContent = text;
  const input = element("input", "", label, { type: "range", min, max, step, "aria-label": text });
  const write = (value) => {
    if (document.activeElement !== input || Number(input.value) !== value) input.value = String(value);
    if (input.title === said(value)) return;
    input.setAttribute("aria-valuetext", said(value));
    input.title = said(value);
  };
  input.addEventListener("input", () => moved(Number(input.value)));
  return { label, input, write };
}

/** A box to tick. */
export function tickBox(text, parent, ticked, name = text) {
  const label = element("label", "rl-field rl-tick", parent);
  const box = element("input", "", label, { type: "checkbox", "aria-label": name });
  element("span", "", label).textContent = text;
  box.addEventListener("change", () => ticked(box.checked));
  return { label, box };
}

/** Call once in this task, however often it is asked for: one message of Python's changes several things. */
export function onceATask(call) {
  let due = false;
  return () => {
    if (due) return;
    due = true;
    queueMicrotask(() => {
      due = false;
      call();
    });
  };
}
