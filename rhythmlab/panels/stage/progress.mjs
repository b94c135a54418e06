// A bar by itself, under a cell that works long.
import { drawBar } from "./bar.mjs";
import { guard, watchPage } from "./keys.mjs";

function makeProgress() {
  function render({ model, el }) {
    el.classList.add("rl-stage", "rl-progress");
    const ends = [drawBar(model, el), guard(el), watchPage()];
    return () => ends.forEach((end) => end());
  }
  return { render };
}

export default makeProgress;
