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

/** The pictures in a figure that have time across: one, or one for each row. */
export function framesIn(figure) {
  return [...figure.querySelectorAll("svg[data-frame]")].map((svg) => ({ svg, frame: frameOf(svg) }));
}

export function makePlayhead(figure, still) {
  let rows = [], marks = [], reach = 0, last = null, seen = null;
  const drawn = (svg, tag, className, attributes) => {
    const made = document.createElementNS(svg.namespaceURI, tag);
    for (const [name, value] of Object.entries({ class: className, "aria-hidden": "true", ...attributes })) made.setAttribute(name, value);
    svg.append(made);
    return made;
  };
  const attach = () => {
    if (rows.length && rows[0].line.isConnected && rows[0].svg === figure.querySelector("svg[data-frame]")) return;
    rows = framesIn(figure);
    [marks, last, seen] = [[], null, null];
    for (const row of rows) {
      row.loop = drawn(row.svg, "rect", "rl-loop", { height: row.frame.height });
      row.line = drawn(row.svg, "path", "rl-playhead", { d: `M0 0V${row.frame.height}` });
      marks.push(...[...row.svg.querySelectorAll("[data-tick]")].map((mark) => [Number(mark.dataset.tick), mark]));
    }
    if (rows.length) reach = (rows.at(-1).frame.stop - rows[0].frame.start) / 90;
  };
  const hide = () => {
    for (const { line, loop } of rows) line.style.display = loop.style.display = "none";
    for (const [, mark] of marks) {
      mark.classList.remove("rl-passing");
      mark.rlNear = false;
    }
    last = null;
  };
  /** Show the row that sounds: over the pads while a take runs, and where rows scroll in their place, as on a phone's full screen. */
  const follow = ({ svg }) => {
    if (rows.length < 2) return;
    if (figure.closest(".rl-docked")) return svg.scrollIntoView({ block: "nearest" });
    if (figure.scrollHeight <= figure.clientHeight + 1) return;
    figure.scrollTop += svg.getBoundingClientRect().top - figure.getBoundingClientRect().top;
  };
  /** Shade what is looped, where it is not all that is shown. */
  const shade = ({ frame, loop }, slice, part) => {
    const from = xOf(frame, Math.max(slice.start, frame.start)), to = xOf(frame, Math.min(slice.stop, frame.stop));
    loop.style.display = part && from !== null && to !== null && to > from ? "" : "none";
    if (loop.style.display === "") {
      loop.setAttribute("x", from.toFixed(2));
      loop.setAttribute("width", (to - from).toFixed(2));
    }
  };
  /** Move to a tick; where motion is not wanted, step to the beat that it belongs to. */
  const move = (now, slice, beats = []) => {
    attach();
    if (!rows.length) return;
    const part = slice.start > rows[0].frame.start || slice.stop < rows.at(-1).frame.stop;
    for (const row of rows) shade(row, slice, part);
    const tick = still() ? Math.max(slice.start, beats.findLast((beat) => beat <= now + 1e-6) ?? 0) : now;
    const on = rows.findLast(({ frame }) => tick >= frame.start && tick <= frame.stop);
    if (!on) return hide();
    for (const row of rows) row.line.style.display = row === on ? "" : "none";
    if (seen !== on) follow((seen = on));
    on.line.setAttribute("transform", `translate(${xOf(on.frame, tick).toFixed(2)})`);
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
