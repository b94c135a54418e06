// A picture of time that is wider than its room stands in rows, broken at beats of home, in letters that can be read.
import { given, LEAST_PX, LOWER, split } from "./marks.mjs";
import { element } from "./parts.mjs";
import { xOf } from "./playhead.mjs";

/** px that stay clear between things, right of a row's names, and at the right edge. */
const [CLEAR, BESIDE, EDGE] = [3, 17, 8];
/** How much longer a part of a name may be than its share of the letters. */
const UNEVEN = 1.1;
/** The share of a room that a name may take on one line. */
const NAMED = 0.2;
/** From the middle of a name on two lines to a name that it does not touch, in units of the picture. */
const TWO_LINES = 26;
/** How full a row is at least that ends at a bar, at a beat that sounds, at another beat, at another sound. */
const FULL = [0.6, 0.34, 0.34, 0];

/**
 * Where rows begin and end: as few as can be, none longer than `most`, and about as long as each other.
 * `levels` are ticks to break at: bars, beats that sound, beats, sounds; where none is near, any tick will do.
 */
export function seams(start, stop, levels, most) {
  const broken = (longest) => {
    const found = [start];
    while (stop - found.at(-1) > longest + 1e-9) {
      const at = found.at(-1);
      const reached = levels.map((ticks) => ticks.filter((tick) => tick > at && tick <= at + longest + 1e-9).at(-1) ?? at);
      found.push(reached.find((tick, kind) => tick - at > longest * FULL[kind]) ?? at + Math.max(1, Math.floor(longest)));
    }
    return [...found, stop];
  };
  let best = broken(most);
  for (let part = 0.95; part > 0.3; part -= 0.05) {
    const next = broken(Math.max(1, most * part));
    if (next.length > best.length) break;
    best = next;
  }
  return best;
}

/** How much of its width a picture needs so that nothing on one line touches the next. */
function leastOf(marks) {
  const rows = new Map();
  const on = (y, mark) => rows.set(y, [...(rows.get(y) || []), mark]);
  const heard = marks.filter(({ kind, one }) => kind === "rule" && given(one, "stroke-width") === 3);
  for (const mark of marks.filter(({ kind, half }) => kind === "at" && half)) {
    on(mark.stroke ? `${mark.one.dataset.lane} ${mark.y}` : mark.line ? `small ${mark.line}` : String(mark.y), mark);
  }
  for (const { x, y, end } of heard) on(String((y + end) / 2), { x, half: 0 });
  let least = 0.05;
  for (const row of rows.values()) {
    row.sort((a, b) => a.x - b.x);
    row.forEach((mark, i) => {
      const next = row[i + (mark.levels || 2) - 1];
      if (next && next.x - mark.x > 0.5) least = Math.max(least, (mark.half + next.half + CLEAR) / (next.x - mark.x));
    });
  }
  return Math.min(1, least);
}

/** How marks stand in rows for a room so many px wide: names beside each row, notes apart. */
function laid(marks, frame, { beats, bars }, room) {
  const names = marks.filter(({ kind }) => kind === "name");
  const alone = (mark) => names.every((other) => other === mark || Math.abs(other.y - mark.y) > TWO_LINES);
  const parts = (mark) => (2 * mark.half > NAMED * room && mark.said.includes(" ") && alone(mark) ? split(mark.said) : [mark.said]);
  const widest = (kind) => Math.max(0, ...marks.filter((mark) => mark.kind === kind).flatMap((mark) => parts(mark).map((part, _, { length }) => (2 * mark.half * part.length * (length > 1 ? UNEVEN : 1)) / mark.said.length)));
  const [left, zones] = [widest("name") + BESIDE, widest("right")];
  const shrink = room < 480 ? LEAST_PX / 14 : 1;
  const across = room - left - EDGE - (zones && zones * shrink + EDGE);
  const sounds = [...new Set(marks.filter(({ stroke }) => stroke).map(({ one }) => Number(one.dataset.tick)))].sort((a, b) => a - b);
  const tick = (frame.width - frame.left - frame.right) / (frame.stop - frame.start);
  const rows = seams(frame.start, frame.stop, [bars, beats.filter((beat) => sounds.includes(beat)), beats, sounds], across / (tick * leastOf(marks)));
  const longest = Math.max(...rows.slice(1).map((to, i) => to - rows[i]));
  return { rows, left, parts, shrink, more: across / longest / tick };
}

/** On which level under their line small marks of a row stand, so that none touches another or a number. */
function levels(marks, x) {
  const taken = new Map();
  const room = (line, level) => taken.get(`${line} ${level}`) || taken.set(`${line} ${level}`, []).get(`${line} ${level}`);
  for (const { y, half, one } of marks) if (one.tagName === "text" && given(one, "font-size") === 18) room(y, 0).push([x(one), half]);
  return ({ one, half, line, levels: most }) => {
    const clear = (level) => room(line, level).every(([at, wide]) => Math.abs(at - x(one)) >= wide + half + CLEAR);
    const found = [0, 1, 2].slice(0, most).find(clear) ?? most - 1;
    room(line, found).push([x(one), half]);
    return line + LOWER * found;
  };
}

/** One row as a picture of its own, with the frame that it has. */
function rowOf(whole, frame, marks, { left, parts, shrink, more }, [from, to], room) {
  const svg = whole.cloneNode(false);
  const [a, b] = [xOf(frame, from), xOf(frame, to)];
  const x = (old) => left + (old - a) * more;
  const inside = (old) => old >= a - 0.01 && (old < b - 0.01 || (to === frame.stop && old <= b + 0.01));
  const levelOf = levels(marks.filter((mark) => mark.kind === "at" && inside(mark.x)), (one) => x(given(one, "x")));
  let low = 0;
  const moved = (mark, by, down = 0) => {
    const one = mark.one.cloneNode(true);
    const made = mark.stroke ? document.createElementNS(svg.namespaceURI, "g") : one; // a stroke grows as it passes
    if (made !== one) made.append(one);
    made.setAttribute("transform", `translate(${by.toFixed(2)} ${down.toFixed(2)})`);
    svg.append(made);
    low = Math.max(low, mark.low + down);
    return made;
  };
  const named = (mark) => {
    const [text, said] = [moved(mark, left - BESIDE - mark.x), parts(mark)];
    if (said.length === 1) return;
    text.replaceChildren();
    said.forEach((part, i) => {
      const line = document.createElementNS(svg.namespaceURI, "tspan");
      line.textContent = part;
      line.setAttribute("x", mark.x);
      line.setAttribute("dy", i ? "1.1em" : "-0.55em");
      text.append(line);
    });
  };
  const spanned = (mark) => {
    const [made, x0, x1] = [mark.one.cloneNode(false), Math.max(mark.x, a), Math.min(mark.to, b)];
    if (mark.one.tagName === "rect") {
      made.setAttribute("x", x(x0).toFixed(2));
      made.setAttribute("width", (x(x1) - x(x0)).toFixed(2));
    } else {
      const y = (old) => (mark.y + ((mark.end - mark.y) * (old - mark.x)) / (mark.to - mark.x)).toFixed(2);
      made.setAttribute("d", `M${x(x0).toFixed(2)} ${y(x0)}L${x(x1).toFixed(2)} ${y(x1)}`);
    }
    svg.append(made);
    low = Math.max(low, mark.low);
  };
  for (const mark of marks) {
    const { kind, one } = mark;
    if (kind === "name") named(mark);
    if (kind === "at" && inside(mark.x)) moved(mark, x(mark.x) - mark.x, mark.line ? levelOf(mark) - mark.y : 0);
    if (kind === "right") moved(mark, x(b) + EDGE - mark.x).setAttribute("font-size", shrink * given(one, "font-size"));
    if (kind === "span" && mark.to > a && mark.x < b) spanned(mark);
    const closing = kind === "rule" && Math.abs(mark.x - b) < 0.01 && one.style.stroke.includes("beat");
    if (kind === "rule" && (inside(mark.x) || closing)) moved(mark, x(mark.x) - mark.x).classList.toggle("rl-seam", !inside(mark.x));
  }
  const high = Math.ceil(low + 4);
  svg.setAttribute("viewBox", `0 0 ${room} ${high}`);
  svg.dataset.frame = [from, to, left, room - x(b), room, high].join(" ");
  if (from === frame.start) return svg; // the first row says what all of them show
  for (const name of ["role", "aria-label"]) svg.removeAttribute(name);
  svg.setAttribute("aria-hidden", "true");
  return svg;
}

/** Lay the marks of a picture of time out in rows for a room so many px wide. */
export function rowsLaid(whole, frame, marks, home, room) {
  const shape = laid(marks, frame, home, room);
  const box = element("div", "rl-rows");
  box.append(...shape.rows.slice(1).map((to, i) => rowOf(whole, frame, marks, shape, [shape.rows[i], to], room)));
  for (const { kind, said } of marks) if (kind === "note") element("p", "rl-note", box).textContent = said;
  return box;
}
