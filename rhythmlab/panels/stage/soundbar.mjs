// The line of sound controls: start and stop, the volume, and what is sounding now.
import { button, element, putText, range } from "./parts.mjs";
import { keepVolume } from "./settings.mjs";
import { placeSaid } from "./rows.mjs";
import { written } from "./slide.mjs";

export const BETWEEN = " \u00b7 ";
const AT_REST = "Space starts and stops";

/** A tempo to one decimal; for a room a whole number, and whether it is not quite that. */
function speedSaid(heard, whole) {
  if (heard < (whole ? 10 : 1)) return written(heard);
  const near = Math.round(heard);
  if (whole) return Math.abs(heard - near) < 1e-6 ? String(near) : `about ${near}`;
  return String(Math.round(heard * 10) / 10);
}

/** What is sounding now, in a few words; for a room in whole tempos, and which beat of how many. */
export function nowSaid(now, bpm, whole = false, counted = "beat") {
  if (!now) return "";
  if (now.turn < 0) return "count-in";
  const cycle = `${now.whole ? "cycle" : "round"} ${now.turn + 1}`;
  if (now.silent) return `${cycle}: silent, keep going`;
  if (now.rest) return `${cycle}: rest it out`;
  const place = placeSaid(now.beats, now.bars || [], now.tick, whole, counted);
  const beat = place ? `${place} · ` : "";
  return `${beat}${cycle}${tempoSaid(now.speed, bpm, whole)}`;
}

/** The tempo that is heard where it is not the one written: slowed, of which, since all else on the screen is at full tempo. */
export function tempoSaid(speed, bpm, whole = false) {
  if (Math.abs(speed - 1) <= 1e-6) return "";
  const heard = speedSaid(bpm * speed, whole);
  return speed < 1 ? ` · slow: ${heard} of ${speedSaid(bpm, whole)} bpm` : ` · ${heard} bpm`;
}

/** `quiet` at rest, where something else is told then. */
export function makeSoundbar(engine, stored, quiet = false) {
  const start = button("Start", null, () => engine.toggle());
  start.classList.add("rl-start");
  start.setAttribute("aria-keyshortcuts", "Space");
  start.title = `${AT_REST}; Escape stops`;
  const volume = range(
    "volume",
    null,
    { min: 0, max: 100, step: 1, said: (value) => `volume ${value} of 100` },
    (value) => {
      engine.set("volume", (value / 100) ** 2);
      keepVolume(stored, engine.settings.volume);
    },
  );
  const said = element("span", "rl-now", null, { "aria-hidden": "true" });
  const update = () => {
    const text = engine.playing() ? "Stop" : "Start";
    putText(start, text);
    volume.write(Math.round(Math.sqrt(engine.settings.volume) * 100));
    said.classList.toggle("rl-resting", !quiet && !engine.playing());
    if (!engine.playing()) tell(rest());
  };
  /** What is told at rest. */
  const rest = () => (quiet || start.hidden ? "" : AT_REST);
  /** A part of the line, and room for the `longest` that it becomes. */
  const part = (tag, text, longest) => {
    const made = element(tag, "", said, longest ? { "data-longest": longest } : {});
    (longest ? element("span", "", made) : made).textContent = text;
  };
  let last = "";
  /** Tell a text; what it begins with may be `large`, and what follows stands beside it or below, each with room for its longest. */
  const tell = (text, large = "", longest = "", rest = "") => {
    const told = [text, large, longest, rest].join("\n");
    if (last === told) return;
    last = told;
    said.textContent = large ? "" : text;
    if (large) part("b", large, longest);
    if (large.length < text.length && large) element("i", "", said).textContent = BETWEEN;
    if (large && (rest || large.length < text.length)) part("span", text.slice(large.length + BETWEEN.length), rest);
  };
  return { start, volume: volume.label, said, update, rest, tell };
}
