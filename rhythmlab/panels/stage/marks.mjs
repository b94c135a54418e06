// What stands in a picture of time: each mark by where it is across, so that it can be put elsewhere.
import { xOf } from "./playhead.mjs";

/** The least size of a letter in px, and what is long for a word in a picture. */
export const LEAST_PX = 12;
const LONG = 18;
/** From a line of the count to the marks that find no room on it, and from these to those that find none there. */
export const LOWER = 16.8;

export const given = (one, name) => Number(one.getAttribute(name) || 0);

/** A name on two lines. */
export function split(said) {
  const spaces = [...said.matchAll(/ /g)].map(({ index }) => index);
  const at = spaces.sort((a, b) => Math.abs(a - said.length / 2) - Math.abs(b - said.length / 2))[0];
  return [said.slice(0, at), said.slice(at + 1)];
}

/** Half the width of a stroke, from its outline: to ask the browser for it would lay out the page. */
function halfWide(outline) {
  const round = /a([\d.]+)/.exec(outline);
  const xs = [...outline.matchAll(/[MLH](-?[\d.]+)/g)].map(([, x]) => Number(x));
  return round ? Number(round[1]) : (Math.max(...xs) - Math.min(...xs)) / 2;
}

/** How long a text is, which is measured once; `lengths` are those known. */
function lengthOf(one, lengths) {
  const name = `${one.getAttribute("font-size")} ${one.getAttribute("font-weight")} ${one.textContent}`;
  if (!lengths.has(name)) lengths.set(name, one.getComputedTextLength());
  return lengths.get(name);
}

/**
 * Each mark of a picture that is there to be seen: where it is across, half its width, how low it reaches, its kind.
 * Kinds are "at" a place, "rule" (upright), "span", "name" and "right" beside the picture, and "note", said under it.
 */
export function marksOf(whole, frame, lengths) {
  const end = frame.width - frame.right;
  const kindOf = (one, x, said) => {
    const anchor = one.getAttribute("text-anchor");
    if (anchor === "end") return "name";
    if (anchor === "start" && x > end) return "right";
    return said.length > LONG && (anchor === "middle" || given(one, "font-size") <= LEAST_PX) ? "note" : "at";
  };
  const marks = [...whole.children].map((one, i) => {
    if (one.tagName === "text") {
      const [x, y, said] = [given(one, "x"), given(one, "y"), one.textContent];
      const small = one.style.fill.includes("quiet") && whole.children[i - 1].tagName !== "rect";
      return { one, kind: kindOf(one, x, said), x, y, half: lengthOf(one, lengths) / 2, low: y + 10, said, small };
    }
    if (one.dataset.tick !== undefined) {
      const d = one.getAttribute("d");
      const [x, y] = [xOf(frame, Number(one.dataset.tick)) ?? frame.left, Number(/[ML][-\d.]+ ([-\d.]+)/.exec(d)[1])];
      return { one, kind: "at", x, y, half: halfWide(d), low: y + 12, stroke: true };
    }
    if (one.tagName === "circle") return { one, kind: "at", x: given(one, "cx"), low: given(one, "cy") + given(one, "r") };
    if (one.tagName === "rect") {
      const [x, width, low] = [given(one, "x"), given(one, "width"), given(one, "y") + given(one, "height")];
      const paper = one.style.fill.includes("paper");
      return { one, kind: paper ? "at" : "span", x: paper ? x + width / 2 : x, to: x + width, low };
    }
    const line = /^M([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)$/.exec(one.getAttribute("d") || "");
    if (!line) return { one, kind: "at", x: frame.left, low: 0 };
    const [x, y, to, low] = line.slice(1).map(Number);
    return { one, kind: x === to ? "rule" : "span", x, y, to, low: Math.max(y, low), end: low };
  });
  const texts = marks.filter(({ said, kind }) => said !== undefined && kind !== "note");
  const counted = [...new Set(texts.filter(({ kind, one }) => kind === "at" && given(one, "font-size") === 18).map(({ y }) => y))];
  for (const mark of texts.filter(({ small, kind }) => small && kind === "at")) {
    const line = counted.findLast((y) => mark.y >= y && mark.y < y + 2.5 * LOWER);
    if (line === undefined) continue;
    const next = Math.min(...texts.filter(({ y, small }) => y > line + 1 && !small).map(({ y }) => y));
    Object.assign(mark, { line, levels: next - line < 3.2 * LOWER ? 2 : 3 });
  }
  return marks;
}
