// What was played stands under what was meant: the strokes of a take, cycle by cycle, on the ticks of the picture above.
import { button, element } from "./parts.mjs";
import { framesIn, xOf } from "./playhead.mjs";

/** Heights in the units of the picture: of a row, of a stroke, and of the ring round one. */
const [ROW, HIGH, RING] = [22, 16, 12];

function draw(tag, parent, attributes, of = parent.namespaceURI) {
  const made = document.createElementNS(of, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
  parent.append(made);
  return made;
}

/** The stroke of a cycle that stands nearest to where the marked one was meant, or null where it is missing. */
export function markedOf(strokes, mark, ticks) {
  const near = strokes.filter(([lane]) => lane === mark.lane).map(([, at]) => at).sort((a, b) => Math.abs(a - mark.tick) - Math.abs(b - mark.tick))[0];
  return near !== undefined && Math.abs(near - mark.tick) < ticks / 8 ? near : null;
}

/** Build the rows under a picture, each under its own row where it has several: the strokes that the model holds, of a cycle of theirs, against the plan. */
export function makeUnder(figure, model, planned) {
  const box = element("div", "rl-under-take");
  figure.after(box);
  const line = element("div", "rl-line", box);
  const back = button("\u2039", line, () => turn(-1));
  const said = element("span", "", line);
  const on = button("\u203a", line, () => turn(1));
  back.setAttribute("aria-label", "the cycle before");
  on.setAttribute("aria-label", "the next cycle");
  let [shown, of, drawn, rows] = [0, null, "", []];

  const turn = (by) => {
    said.setAttribute("aria-live", "polite"); // not after a take, of which what it came to is said
    model.set("struck", shown + 1 + by);
    model.save_changes();
  };
  const paint = ({ svg: above, frame }, played, plan, ends) => {
    const lanes = [...new Set(played.cycles.flat().map(([lane]) => lane))].sort((a, b) => a - b);
    const height = ROW * lanes.length + 4;
    const svg = draw("svg", figure, { viewBox: `0 0 ${frame.width} ${height}`, "aria-hidden": "true", class: "rl-struck" }, above.namespaceURI);
    above.after(svg);
    rows.push(svg);
    /** Where a tick stands in this row; what is early for the whole stands at its beginning. */
    const place = (tick) => {
      const at = Math.max(tick, ends.start);
      return at >= frame.start && (at < frame.stop || frame.stop === ends.stop) ? xOf(frame, at) : null;
    };
    draw("text", svg, { x: frame.left - 14, y: height / 2 + 4, "text-anchor": "end", class: "rl-you" }).textContent = "you";
    const strokes = played.cycles[shown];
    lanes.forEach((lane, row) => {
      const [y, colour] = [ROW * row + 3, `var(--rl-lane${lane % 4})`];
      for (const tick of (plan.lanes[lane] || { onsets: [] }).onsets) {
        const x = tick < ends.start ? null : place(tick);
        if (x !== null) draw("path", svg, { d: `M${x.toFixed(2)} ${y}v${HIGH}`, class: "rl-meant" });
      }
      for (const [, at] of strokes.filter(([of]) => of === lane)) {
        const x = place(at);
        if (x !== null) draw("rect", svg, { x: (x - 2.5).toFixed(2), y, width: 5, height: HIGH, fill: colour });
      }
    });
    const { mark } = played;
    if (!mark || (mark.cycle && mark.cycle !== shown + 1) || !lanes.includes(mark.lane)) return;
    const at = markedOf(strokes, mark, played.stop - played.start);
    const x = place(at ?? mark.tick);
    if (x === null) return;
    const y = ROW * lanes.indexOf(mark.lane) + 3 + HIGH / 2;
    draw("circle", svg, { cx: x.toFixed(2), cy: y, r: RING, class: "rl-ringed" });
    const word = at === null ? "not played" : at > mark.tick ? "late" : "early";
    const right = x > frame.width - 90;
    draw("text", svg, { x: (right ? x - RING - 4 : x + RING + 4).toFixed(2), y: y + 5, "text-anchor": right ? "end" : "start", class: "rl-ringed-word" }).textContent = word;
  };
  const update = () => {
    const [played, plan, told] = [model.get("played") || {}, planned(), (model.get("feedback") || []).length > 0];
    const frames = framesIn(figure);
    box.hidden = !(told && frames.length && played.cycles && played.cycles.length && plan && plan.lanes);
    if (box.hidden) {
      rows.splice(0).forEach((row) => row.remove());
      drawn = "";
      return;
    }
    if (of !== played) {
      of = played;
      said.removeAttribute("aria-live");
    }
    const many = played.cycles.length;
    shown = Math.min(Math.max(model.get("struck") - 1, 0), many - 1);
    const now = JSON.stringify([shown, frames.map(({ frame }) => frame), played]);
    if (now === drawn && rows.every((row) => row.isConnected)) return;
    drawn = now;
    rows.splice(0).forEach((row) => row.remove());
    const ends = { start: frames[0].frame.start, stop: frames.at(-1).frame.stop };
    for (const one of frames) paint(one, played, plan, ends);
    [back.disabled, on.disabled] = [shown === 0, shown === many - 1];
    said.textContent = `Cycle ${shown + 1} of ${many}: what you played stands under what was meant.`;
  };
  return update;
}
