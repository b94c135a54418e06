// What was played stands under what was meant: the strokes of a take, cycle by cycle, on the ticks of the picture above.
import { button, element, setEnds } from "./parts.mjs";
import { framesIn, xOf } from "./playhead.mjs";
import { put } from "./fields.mjs";

/** Sizes in the units of the picture: of a lane, of its marks, of a stroke at most, of the ring round one, of words under them, of a letter, from a name to what it is beside. */
const [ROW, HIGH, STROKE, RING, WORD_LINE, PER_LETTER, FROM_NAME] = [26, 20, 6, 12, 20, 9, 14];
/** The shapes of strokes, as `SHAPES` of palette.py. */
const SHAPES = [
  (x, y, r) => `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`,
  (x, y, r) => `M${x} ${y - r}L${x + r} ${y}L${x} ${y + r}L${x - r} ${y}Z`,
  (x, y, r) => `M${x - r} ${y - r}h${2 * r}v${2 * r}h${-2 * r}Z`,
  (x, y, r) => `M${x} ${y - r}L${x + r} ${y + r}H${x - r}Z`,
];

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
    put(model, "struck", shown + 1 + by);
  };
  const paint = ({ svg: above, frame }, played, plan, ends) => {
    const { mark, names = {}, said: told = [] } = played;
    const lanes = [...new Set([...Object.keys(names).map(Number), ...played.cycles.flat().map(([lane]) => lane)])].sort((a, b) => a - b);
    const tick = (frame.width - frame.left - frame.right) / (frame.stop - frame.start);
    /** Where a tick stands in this row; what came before its first beat stands left of it, among the names. */
    const place = (at) => {
      if (at >= ends.start) return at >= frame.start && (at < frame.stop || frame.stop === ends.stop) ? xOf(frame, at) : null;
      if (frame.start !== ends.start || played.start < ends.start) return null; // of another row, or of what is not shown
      return Math.max(RING, frame.left - (frame.start - at) * tick);
    };
    const strokes = played.cycles[shown];
    const marked = mark && (!mark.cycle || mark.cycle === shown + 1) && lanes.includes(mark.lane);
    const late = marked ? markedOf(strokes, mark, played.stop - played.start) : null;
    const at = marked ? place(late ?? mark.tick) : null;
    const height = ROW * lanes.length + (at === null ? 0 : WORD_LINE);
    const alone = rows.length ? { "aria-hidden": "true" } : { role: "img", "aria-label": told[shown] || "" };
    const svg = draw("svg", figure, { viewBox: `0 0 ${frame.width} ${height}`, class: "rl-struck", ...alone }, above.namespaceURI);
    above.after(svg);
    rows.push(svg);
    const most = Math.max(1, ...lanes.map((lane) => (plan.lanes[lane] || { onsets: [] }).onsets.filter((tick) => place(tick) !== null).length));
    const r = Math.min(STROKE, Math.max(2.5, (0.36 * (frame.width - frame.left - frame.right)) / most));
    const letters = (x, y, anchor, name, text) => (draw("text", svg, { x: x.toFixed(2), y, "text-anchor": anchor, class: name }).textContent = text);
    lanes.forEach((lane, row) => {
      const [y, name] = [ROW * (row + 0.5), names[lane] || ""];
      const own = strokes.filter(([of]) => of === lane).map(([, at]) => place(at)).filter((x) => x !== null);
      const free = Math.min(frame.left, ...own) - FROM_NAME; // its name ends before its first stroke
      const fits = [`you ${name}`, name, "you"].find((text) => text && text.length * PER_LETTER < free);
      if (fits) letters(free, y + 5, "end", "rl-you", fits);
      for (const tick of (plan.lanes[lane] || { onsets: [] }).onsets) {
        const x = tick < ends.start ? null : place(tick);
        if (x !== null) draw("path", svg, { d: `M${x.toFixed(2)} ${y - HIGH / 2}v${HIGH}`, class: "rl-meant" });
      }
      for (const x of own) {
        draw("path", svg, { d: SHAPES[lane % 4](Number(x.toFixed(2)), y, r), fill: `var(--rl-lane${lane % 4})`, "data-lane": lane });
      }
    });
    if (at === null) return;
    const [y, from] = [ROW * (lanes.indexOf(mark.lane) + 0.5), place(mark.tick)];
    if (from !== null) draw("path", svg, { d: `M${from.toFixed(2)} ${y}H${at.toFixed(2)}`, class: "rl-ringed" });
    draw("circle", svg, { cx: at.toFixed(2), cy: y, r: RING, class: "rl-ringed" });
    const word = `${mark.name ? mark.name + ": " : ""}${late === null ? "not played" : late > mark.tick ? "late" : "early"}`;
    const half = (word.length * PER_LETTER) / 2;
    letters(Math.max(half, Math.min(at, frame.width - half)), height - 5, "middle", "rl-ringed-word", word);
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
    setEnds(back, on, shown === 0, shown === many - 1);
    said.textContent = `Cycle ${shown + 1} of ${many}: what you played stands under what was meant.`;
  };
  return update;
}
