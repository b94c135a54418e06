// Where a take is played: its pads and what stops it, in view from its beginning; on a narrow card at the foot of the screen, under the row that sounds.
import { bringIntoView, element } from "./parts.mjs";
import { NARROW } from "./head.mjs";

/** Build the place in `parent`; `ask()` says that a take begins here, `follow(records)` whether one runs. */
export function makeDock(el, parent) {
  const box = element("div", "rl-dock", parent);
  let [asked, on] = [false, false];
  const follow = (records) => {
    if (records === on || (records && !asked)) return; // another view has it
    on = records;
    asked = false;
    const foot = on && el.clientWidth <= NARROW && Boolean(box.showPopover);
    el.classList.toggle("rl-docked", foot);
    box.popover = foot ? "manual" : null; // over all that could cut it
    if (on && !foot) bringIntoView(box, box);
    if (!foot) return;
    box.showPopover();
    const figure = el.querySelector(".rl-picture");
    figure.style.setProperty("--rl-foot", `${box.offsetHeight}px`);
    bringIntoView(figure, figure.querySelector("svg") || figure);
  };
  return { box, follow, ask: () => (asked = true) };
}
