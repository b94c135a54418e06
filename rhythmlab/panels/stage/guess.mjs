// The guess: its card shows and sounds nothing until it is made or skipped; what came of it stands where it was asked.
import { bringIntoView, button, element, putText } from "./parts.mjs";
import { follow, put, referred } from "./fields.mjs";
import { newId } from "./take.mjs";

const NOTHING = "Type your guess, or skip it.";

/** Put the guess on top of a card; it is the model of a field of Python's. Returns {covers(), update(), close()}. */
export function makeGuess(el, model, engine, next) {
  const box = element("div", "rl-guess", el, { role: "group", "aria-label": "your guess" });
  const label = element("label", "rl-field", box);
  const name = element("span", "", label);
  const input = element("input", "rl-typed", label, { type: "text", autocomplete: "off", spellcheck: "false", size: "9" });
  const made = button("Guess", box, () => make());
  const skipped = button("Skip", box, () => held && put(held, "covered", false));
  const told = element("p", "rl-told", box, { role: "status", id: newId() });
  let [held, leave, drawn, over] = [null, () => {}, null, false];

  const covers = () => Boolean((model.get("parts") || {}).guess) && (!held || held.get("covered"));
  const say = (text, wrong) => {
    putText(told, text);
    wrong ? input.setAttribute("aria-invalid", "true") : input.removeAttribute("aria-invalid");
  };
  const make = () => {
    if (!held) return;
    if (input.value.trim()) return put(held, "value", input.value);
    say(NOTHING, true);
    input.focus();
  };
  input.setAttribute("aria-describedby", told.id);
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.repeat || event.isComposing) return;
    event.preventDefault(); // whose focus goes on, and must not press what it comes to
    make();
  });
  /** Cover, or show all and lead on whoever was typing here. */
  const show = () => {
    const [asked, now] = [Boolean((model.get("parts") || {}).guess), covers()];
    const here = box.contains(box.ownerDocument.activeElement);
    box.hidden = !asked;
    el.classList.toggle("rl-covered", now);
    made.hidden = skipped.hidden = !now;
    if (now !== label.contains(input)) now ? label.append(input) : input.remove(); // no second field of one name
    if (now) engine.stop();
    else if (asked && here) {
      next.focus({ preventScroll: true });
      bringIntoView(el, box);
    }
  };
  const read = () => {
    name.textContent = held.get(held.get("covered") ? "question" : "description");
    input.placeholder = held.get("placeholder") || "";
    if (input.value !== held.get("value")) input.value = held.get("value");
    say(held.get("told"), held.get("covered") && held.get("told") !== "");
    show();
  };
  const update = async () => {
    const { guess = "" } = model.get("parts") || {};
    if (guess === drawn) return;
    [drawn, held] = [guess, null];
    leave();
    leave = () => {};
    show();
    const found = guess && (await referred(model.widget_manager, guess));
    if (!found || over || guess !== drawn) return;
    held = found;
    leave = follow(held, ["value", "told", "covered"], read);
  };
  return { covers, update, close: () => { over = true; leave(); } };
}
