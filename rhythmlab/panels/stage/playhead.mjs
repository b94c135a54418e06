// The playhead: a line that moves steadily over any picture of the cycle, and the strokes that it passes.

/** Where a tick stands in a picture, in its own units; null when it is not in the picture. */
export function xOf(frame, tick) {
  if (tick < frame.start || tick > frame.stop) return null;
  return frame.left + ((tick - frame.start) / (frame.stop - frame.start)) * (frame.width - frame.left - frame.right);
}

/** The frame that a picture says it was drawn in, or null. */
export function frameOf(svg) {
  const said = svg && svg.dataset.frame;
  if (!said) return null;
  const [start, stop, left, right, width, height] = said.split(" ").map(Number);
  return { start, stop, left, right, width, height };
}

export function makePlayhead(figure, still) {
  let svg = null, frame = null, line = null, loop = null, marks = [], last = null;
  const attach = () => {
    const now = figure.querySelector("svg");
    if (now === svg && line && line.isConnected) return;
    [svg, frame, last] = [now, frameOf(now), null];
    if (!frame) return;
    line = document.createElementNS(svg.namespaceURI, "path");
    line.setAttribute("d", `M0 0V${frame.height}`);
    line.setAttribute("class", "rl-playhead");
    line.setAttribute("aria-hidden", "true");
    loop = document.createElementNS(svg.namespaceURI, "rect");
    loop.setAttribute("class", "rl-loop");
    loop.setAttribute("aria-hidden", "true");
    loop.setAttribute("height", frame.height);
    svg.append(loop, line);
    marks = [...svg.querySelectorAll("[data-tick]")].map((mark) => [Number(mark.dataset.tick), mark]);
  };
  const hide = () => {
    if (line) line.style.display = "none";
    if (loop) loop.style.display = "none";
    for (const [, mark] of marks) {
      mark.classList.remove("rl-passing");
      mark.rlNear = false;
    }
    last = null;
  };
  /** Shade what is looped, where it is not all that is shown. */
  const shade = (slice) => {
    const from = xOf(frame, Math.max(slice.start, frame.start)), to = xOf(frame, Math.min(slice.stop, frame.stop));
    const part = slice.start > frame.start || slice.stop < frame.stop;
    loop.style.display = part && from !== null && to !== null && to > from ? "" : "none";
    if (loop.style.display === "") {
      loop.setAttribute("x", from.toFixed(2));
      loop.setAttribute("width", (to - from).toFixed(2));
    }
  };
  const move = (tick, slice) => {
    attach();
    if (!frame) return;
    shade(slice);
    const x = still() ? null : xOf(frame, tick);
    if (x === null) return hide();
    line.style.display = "";
    line.setAttribute("transform", `translate(${x.toFixed(2)})`);
    const reach = (frame.stop - frame.start) / 90;
    for (const [at, mark] of marks) {
      const near = tick >= at && tick < at + reach;
      if (near !== (mark.rlNear === true)) {
        mark.rlNear = near;
        mark.classList.toggle("rl-passing", near);
      }
    }
    last = tick;
  };
  return { move, hide, place: () => last };
}
