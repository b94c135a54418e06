// Engraved notes that are wider than their room stand in more lines, each broken at a bar or between two strokes of a
// bar that is too long: what is between notes grows less, and heads, words and signs keep their size.
import { seams } from "./breaks.mjs";
import { element } from "./parts.mjs";

/** px: what stands closer is never parted, what is wider is stretched, and what stands right of the words beside a staff. */
const [TIGHT, WIDE, BESIDE_STAFF] = [4, 24, 6];
/** How much of the space between notes is left at least in a bar, and in several on a line; and how much more there may be. */
const [LEAST_SPACE, BARS_SPACE, MOST_SPACE] = [0.3, 0.45, 1.4];
/** A tempo or a direction longer than this share of a line is said over it. */
const LONG_WORDS = 0.6;
const DRAWN = "path, polyline, polygon, use, text, ellipse, rect";

const unitOf = (svg) => Number(/scale\(([\d.]+)/.exec(svg.querySelector(":scope > g").getAttribute("transform"))[1]);
const sheetsIn = (figure) => [...figure.querySelectorAll("svg")].filter((svg) => svg.querySelector(".system"));

/** The least letter of the notes in a figure and their width, in px of the sheet, or null where there are none. */
export function sizeOfNotes(figure) {
  const sheets = sheetsIn(figure);
  const letters = sheets.flatMap((svg) => [...svg.querySelectorAll("text")].map((one) => parseFloat(one.getAttribute("font-size")) * (one.closest(".system") ? unitOf(svg) : 1)));
  return sheets.length ? { least: Math.min(99, ...letters), width: Math.max(...sheets.map((svg) => svg.viewBox.baseVal.width)) } : null;
}

/** Everything in the notes of a figure, measured while it is seen, in px of the sheet; null where it is not seen. */
export function notesIn(figure) {
  const [systems, said] = [[], []];
  for (const svg of sheetsIn(figure)) {
    const shown = svg.getBoundingClientRect();
    if (!shown.width) return null;
    const [unit, page] = [unitOf(svg), svg.querySelector(":scope > g > g")];
    const [more, aside] = [svg.viewBox.baseVal.width / shown.width, Number(/[\d.]+/.exec(page.getAttribute("transform"))[0]) * unit];
    for (const system of svg.querySelectorAll(".system")) {
      const marks = [...system.querySelectorAll(DRAWN)].map((one) => {
        const { left, right, top, bottom } = one.getBoundingClientRect();
        const [a, b, y0, y1] = [left - shown.left, right - shown.left, top - shown.top, bottom - shown.top].map((px) => px * more);
        const text = one.tagName === "text";
        const solid = text || one.tagName === "use" || b - a <= WIDE;
        return { a, b, y0, y1, at: (a + b) / 2, solid, beam: one.tagName === "polygon", dir: text && Boolean(one.closest(".dir, .tempo")) };
      });
      systems.push({ ...marked(system, marks), svg, unit, aside });
    }
    for (const one of svg.querySelectorAll(":scope > text")) {
      if (said.length && one.matches(".key + .key")) said.push(`${said.pop()} ${one.textContent}`); // a key that was wrapped
      else said.push(one.textContent);
    }
  }
  return { systems, said };
}

/** What a system is made of: its marks, where its bars end, what stands beside its staves, and where these begin. */
function marked(system, marks) {
  const all = [...system.querySelectorAll(DRAWN)];
  const of = (name) => all.flatMap((one, i) => (one.closest(name) && !one.closest(".note, .chord, .rest") ? [i] : []));
  const lines = of(".staff > path").filter((i) => !marks[i].solid);
  const beside = [...of(".clef"), ...of(".label"), ...all.flatMap((one, i) => (one.parentElement === system ? [i] : []))];
  const start = Math.min(...lines.map((i) => marks[i].a));
  const ends = [...new Set(lines.map((i) => Math.ceil(marks[i].b)))].sort((x, y) => x - y);
  for (const i of of(".mNum")) Object.assign(marks[i], { number: true, solid: false, at: Math.ceil(Math.max(start, marks[i].at)) + 1.5 });
  for (const i of lines) marks[i].staff = true;
  return { system, marks, beside: new Set(beside), start, ends, left: Math.min(start, ...beside.map((i) => marks[i].a)) };
}

/** Stretches of a line that keep their width, with nothing between two that stand as close as one word. */
function solids(marks) {
  const found = [];
  for (const { a, b } of marks.filter(({ solid, aloft }) => solid && !aloft).sort((x, y) => x.a - y.a)) {
    if (found.length && a - found.at(-1)[1] < TIGHT) found.at(-1)[1] = Math.max(found.at(-1)[1], b);
    else found.push([a, b]);
  }
  return found;
}

/** One line of a system, from a place to another: its solids, and how much of its spaces a room leaves them. */
function lineOf(one, from, to, room) {
  const first = from <= one.start;
  const held = one.marks.map((mark, i) => (mark.at >= from && mark.at < to) || (first && one.beside.has(i)));
  const parts = solids(one.marks.filter((_, i) => held[i]));
  const side = first ? 0 : Math.max(0, ...[...one.beside].map((i) => one.marks[i].b)) - one.left + BESIDE_STAFF;
  const begin = first ? Math.min(one.left, parts[0][0]) : parts[0][0];
  const open = parts.slice(1).map(([a], i) => a - parts[i][1] - TIGHT);
  const spaces = open.reduce((sum, space) => sum + space, 0);
  const share = spaces > 0 ? (room - side - (parts.at(-1)[1] - begin - spaces) - 2) / spaces : 1;
  return { from, to, held, parts, side, first, begin, open, share };
}

/** Where a line that is so laid out has what stood at x. */
function placeIn({ parts, side, begin, open }, share) {
  const starts = [side + parts[0][0] - begin];
  open.forEach((space, i) => starts.push(starts[i] + parts[i][1] - parts[i][0] + TIGHT + space * share));
  return (x) => {
    const i = Math.max(0, parts.findLastIndex(([a]) => a <= x));
    const [[a, b], next] = [parts[i], parts[i + 1]];
    if (x <= b || !next) return starts[i] + x - a;
    const end = starts[i] + b - a;
    return end + ((x - b) * (starts[i + 1] - end)) / (next[0] - b);
  };
}

/** Where a bar that is too long for a line is broken: between strokes, and under a beam or a bracket only where it must. */
function partsOf(one, from, to, room) {
  const parts = solids(one.marks.filter(({ at }) => at >= from && at < to));
  const spaces = parts.slice(1).map(([a], i) => (a + parts[i][1]) / 2).filter((x) => x > one.start + WIDE);
  const across = one.marks.filter(({ solid, staff, number }) => !solid && !staff && !number);
  const clearOf = (marks) => spaces.filter((x) => marks.every(({ a, b }) => x < a || x > b));
  const levels = [clearOf(across), clearOf(across.filter(({ beam }) => beam)), spaces, []];
  let lines = [];
  for (let most = Math.min(to - from - 1, room / LEAST_SPACE); most > room / 3; most *= 0.95) {
    const at = seams(from, to, levels, most);
    lines = at.slice(1).map((end, i) => lineOf(one, at[i], end, room));
    if (lines.every(({ share }) => share >= LEAST_SPACE)) break;
  }
  return lines;
}

/** The lines of a system: as many bars in each as leave its notes some space. */
function linesOf(one, room) {
  const lines = [];
  for (let from = one.start; from < one.ends.at(-1); from = lines.at(-1).to) {
    const ends = one.ends.filter((end) => end > from);
    const fitting = ends.map((to) => lineOf(one, from, to, room)).findLast(({ share }, i) => share >= (i ? BARS_SPACE : LEAST_SPACE));
    lines.push(...(fitting ? [fitting] : partsOf(one, from, ends[0], room)));
  }
  return lines;
}

const points = (text) => [...text.matchAll(/(-?[\d.]+)[ ,]+(-?[\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)]);

/** The corners of a run of straight lines between two places. */
function within(corners, from, to) {
  return corners.slice(1).flatMap(([x1, y1], i) => {
    const [x0, y0] = corners[i];
    if (Math.max(x0, x1) < from || Math.min(x0, x1) > to) return [];
    const at = (x) => [x, x0 === x1 ? y1 : y0 + ((y1 - y0) * (x - x0)) / (x1 - x0)];
    const held = (x) => Math.min(Math.max(x, from), to);
    return x0 === x1 ? [[x0, y0], [x1, y1]] : [at(held(x0)), at(held(x1))];
  });
}

/** Stretch a beam, a bracket or the line of a staff from its place to that in a line, and cut it where that ends. */
function stretched(mark, made, { unit, aside, start, left }, line, place) {
  const name = made.tagName === "path" ? "d" : "points";
  const all = points(made.getAttribute(name)).map(([x, y]) => [x * unit + aside, y]);
  const [low, high] = [line.first || mark.staff ? -1e9 : Math.max(line.from, line.begin - BESIDE_STAFF), line.to];
  const half = all.length / 2;
  const runs = made.tagName === "polygon" ? [within(all.slice(0, half), low, high), within(all.slice(half), low, high)] : [within(all, low, high)];
  const begins = (x) => !line.first && mark.staff && x <= line.from + 1; // a staff begins beside its clef
  const told = runs.flat().map(([x, y]) => `${((begins(x) ? start - left : place(x)) - aside) / unit} ${y}`);
  if (!told.length) return made.remove();
  made.setAttribute(name, name === "d" ? `M${told.join("L")}` : told.join(" "));
}

function lineDrawn(one, line, room, last) {
  const place = placeIn(line, Math.min(line.share, last ? 1 : MOST_SPACE));
  const svg = one.svg.cloneNode(false);
  const page = one.svg.querySelector(":scope > g").cloneNode(false);
  const sheet = one.system.parentElement.cloneNode(false);
  const system = one.system.cloneNode(true);
  let [top, bottom] = [1e9, 0];
  [...system.querySelectorAll(DRAWN)].forEach((made, i) => {
    const mark = one.marks[i];
    const beside = !line.held[i] && one.beside.has(i) && mark.solid;
    if (mark.aloft || !(line.held[i] || beside || (!mark.solid && !mark.number))) return made.remove();
    if (!mark.solid && !mark.number) {
      stretched(mark, made, one, line, place);
    } else {
      const by = beside ? -one.left : mark.number ? Math.max((mark.b - mark.a) / 2, place(mark.at)) - (mark.a + mark.b) / 2 : place(mark.a) - mark.a;
      made.setAttribute("transform", `translate(${by / one.unit} 0) ${made.getAttribute("transform") || ""}`);
    }
    if (!made.parentElement) return;
    [top, bottom] = [Math.min(top, mark.y0), Math.max(bottom, mark.y1)];
  });
  svg.setAttribute("viewBox", `0 ${top - 2} ${room} ${bottom - top + 4}`);
  for (const name of ["width", "height", "style", "role", "aria-label"]) svg.removeAttribute(name);
  svg.setAttribute("aria-hidden", "true");
  sheet.append(system);
  page.append(sheet);
  svg.append(page);
  return svg;
}

/** Notes in lines for a room so many px wide, under what is said of them; the first one says what all of them show. */
export function notesLaid({ systems, said }, room, alt) {
  const box = element("div", "rl-rows rl-systems");
  for (const text of said) element("p", "rl-note", box).textContent = text;
  systems.forEach((one, n) => {
    for (const mark of one.marks) mark.aloft = mark.dir && mark.b - mark.a > LONG_WORDS * room;
    one.marks.forEach(({ aloft }, i) => {
      if (aloft) element("p", "rl-tempo-said", box).textContent = [...one.system.querySelectorAll(DRAWN)][i].textContent;
    });
    const lines = linesOf(one, room);
    lines.forEach((line, i) => box.append(lineDrawn(one, line, room, n === systems.length - 1 && i === lines.length - 1)));
  });
  const first = box.querySelector("svg");
  first.removeAttribute("aria-hidden");
  first.setAttribute("role", "img");
  first.setAttribute("aria-label", alt);
  first.prepend(...[...new Set(systems.map(({ svg }) => svg))].flatMap((svg) => [...svg.querySelectorAll("defs")].map((defs) => defs.cloneNode(true))));
  return box;
}
