// The stage: holds the picture, the flip and the tempo slide. Clock, sound and taps will stand here too.
import { flipLabel, nextHome, pictureOf, show } from "./picture.mjs";
import { makeSlide } from "./slide.mjs";
import { guard } from "./keys.mjs";
import { watch } from "./wake.mjs";

function element(tag, className, parent, attributes = {}) {
  const made = document.createElement(tag);
  made.className = className;
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  parent.append(made);
  return made;
}

function render({ model, el }) {
  el.classList.add("rl-stage");
  const asleep = element("p", "rl-asleep", el, { role: "status" });
  const figure = element("div", "rl-picture", el, { tabindex: "0", role: "group", "aria-label": "picture" });
  const controls = element("div", "rl-controls", el);
  const flip = element("button", "rl-flip", controls, { type: "button" });
  const slide = makeSlide(
    () => {
      const picture = pictureOf(model.get("pictures"), model.get("home"));
      const [low, high] = model.get("bpm_range");
      return { bpm: picture ? picture.bpm : 0, low, high, of: picture ? picture.home : "" };
    },
    (bpm) => {
      model.set("slid", { bpm, home: model.get("home"), turn: (model.get("slid").turn || 0) + 1 });
      model.save_changes();
    },
  );
  controls.append(slide.label);
  const words = element("div", "rl-words", el, { "aria-live": "polite" });
  const notice = element("p", "rl-notice", el, { role: "status" });

  const update = () => {
    const [pictures, home] = [model.get("pictures"), model.get("home")];
    const picture = pictureOf(pictures, home);
    if (picture) show(picture, figure, words);
    flip.textContent = flipLabel(pictures, home);
    flip.hidden = flip.textContent === "";
    slide.label.hidden = !picture || model.get("bpm_range").length < 2;
    if (!slide.label.hidden) slide.update();
    notice.textContent = model.get("notice");
  };
  const turn = () => {
    model.set("home", nextHome(model.get("home"), model.get("pictures").length));
    model.save_changes();
  };
  flip.addEventListener("click", turn);
  const unguard = guard(el);
  for (const name of ["pictures", "home", "notice", "bpm_range"]) model.on(`change:${name}`, update);
  const rest = watch(model, (line) => (asleep.textContent = line));
  update();
  return () => {
    for (const name of ["pictures", "home", "notice", "bpm_range"]) model.off(`change:${name}`, update);
    unguard();
    rest();
  };
}

export default { render };
