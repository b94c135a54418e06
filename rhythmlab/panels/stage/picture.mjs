// The picture: one for each home, all made by Python. The browser only chooses which one stands there.
import { element } from "./parts.mjs";

/** The home after this one, round from the last to the first. */
export function nextHome(home, count) {
  return count > 0 ? (home + 1) % count : 0;
}

/** The picture of a home; the nearest there is while numbers and pictures are still on their way. */
export function pictureOf(pictures, home) {
  if (!pictures || pictures.length === 0) return null;
  return pictures[Math.min(Math.max(home, 0), pictures.length - 1)];
}

/** What would be torn apart at the end of a line: a number and its unit. */
const MEASURED = /(\d[\d.,]* (?:bpm|ms|seconds?|percent)\b[.,;:]?)/;

function write(said, words) {
  const all = said.join("\n");
  if (words.rlSaid === all) return;
  words.replaceChildren(
    ...said.map((text) => {
      const line = document.createElement("p");
      text.split(MEASURED).forEach((part, i) => (i % 2 ? (element("span", "rl-measured", line).textContent = part) : line.append(part)));
      return line;
    }),
  );
  words.rlSaid = all;
}

/** Put a picture and its sentences where they belong, touching only what differs; those for a presenter alone go to `aside`. */
export function show(picture, figure, words, aside = null) {
  const svg = picture.svg.replace(/ xmlns="[^"]*"/, ""); // not needed inside a page: ours and Python's are then alike
  if (figure.rlPicture !== svg) figure.innerHTML = figure.rlPicture = svg;
  figure.tabIndex = svg ? 0 : -1; // nothing to stop at while a picture is kept from whoever listens
  const quiet = (aside && picture.aside) || [];
  write(picture.said.filter((text) => !quiet.includes(text)), words);
  if (aside) write(quiet, aside);
}
