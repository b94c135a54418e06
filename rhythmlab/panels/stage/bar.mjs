// How far long work is, with a button that stops it: a kernel that works reads no messages, so it is interrupted.
import { button, element, putText } from "./parts.mjs";

/** Interrupt the kernel behind a widget manager; returns a sentence, or "" where it was asked. */
async function interrupt(manager) {
  const kernel = manager && manager.kernel;
  if (!kernel || typeof kernel.interrupt !== "function") return "Press Interrupt (the square) to stop it.";
  try {
    await kernel.interrupt();
    return "";
  } catch {
    return "The kernel did not hear it: press Interrupt (the square).";
  }
}

/** Draw a bar that follows its model, and show it to who pressed a button beside it. Returns how to let go. */
export function drawBar(model, parent) {
  const bar = element("div", "rl-bar", parent, { role: "group" });
  const meter = element("progress", "", bar);
  const far = element("span", "rl-far", bar);
  const stop = button("Stop", bar, async () => {
    stop.disabled = true;
    asked.textContent = "Stopping after this step.";
    asked.textContent = (await interrupt(model.widget_manager)) || asked.textContent;
  });
  const said = element("span", "", bar, { role: "status" });
  const asked = element("span", "rl-note", bar, { role: "status" });
  let was = false;
  const read = () => {
    const [what, done, count, working] = ["what", "done", "count", "working"].map((name) => model.get(name));
    bar.hidden = !what;
    bar.setAttribute("aria-label", what);
    meter.setAttribute("aria-label", what);
    [meter.max, meter.value] = [Math.max(1, count), done];
    stop.setAttribute("aria-label", `Stop: ${what}`);
    meter.hidden = far.hidden = stop.hidden = !working;
    far.textContent = `${done} of ${count}`;
    putText(said, model.get("said"));
    if (working && done === 0) stop.disabled = false;
    if (working && !was && parent.contains(document.activeElement)) bar.scrollIntoView({ block: "nearest" });
    was = working;
    if (!working) asked.textContent = "";
  };
  const names = ["what", "done", "count", "working", "said"].map((name) => `change:${name}`);
  for (const name of names) model.on(name, read);
  read();
  return () => names.forEach((name) => model.off(name, read));
}
