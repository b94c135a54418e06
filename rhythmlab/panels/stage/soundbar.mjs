// The line of sound controls: start and stop, the volume, and what is sounding now.
import { button, element, range } from "./parts.mjs";
import { keepVolume } from "./settings.mjs";
import { placeSaid } from "./rows.mjs";
import { written } from "./slide.mjs";

/** What is sounding now, in a few words. */
export function nowSaid(now, bpm) {
  if (!now) return "";
  if (now.turn < 0) return "count-in";
  const cycle = `${now.whole ? "cycle" : "round"} ${now.turn + 1}`;
  if (now.silent) return `${cycle}: silent, keep going`;
  const place = placeSaid(now.beats, now.bars || [], now.tick);
  const beat = place ? `${place} · ` : "";
  const heard = bpm * now.speed;
  const speed = Math.abs(now.speed - 1) > 1e-6 ? ` · ${heard < 1 ? written(heard) : Math.round(heard * 10) / 10} bpm` : "";
  return `${beat}${cycle}${speed}`;
}

export function makeSoundbar(parent, engine, stored) {
  const start = button("Start", parent, () => engine.toggle());
  start.classList.add("rl-start");
  start.setAttribute("aria-keyshortcuts", "Space");
  start.title = "Space starts and stops; Escape stops";
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
    if (start.textContent !== text) start.textContent = text;
    start.setAttribute("aria-pressed", String(engine.playing()));
    volume.write(Math.round(Math.sqrt(engine.settings.volume) * 100));
    if (!engine.playing()) said.textContent = "";
  };
  const tell = (text) => {
    if (said.textContent !== text) said.textContent = text;
  };
  return { start, volume: volume.label, said, update, tell };
}
