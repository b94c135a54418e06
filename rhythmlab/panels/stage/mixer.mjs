// The mix: level, mute, solo and side of each lane, the home beat, the grid ticks, and whose voice is whose.
import { choice, element, range, tickBox } from "./parts.mjs";
import { firstLane } from "./settings.mjs";
import { MOST_LANES, hasGrid } from "./bounds.mjs";

const percent = (value) => `${value} percent`;

/** A side in words. */
export function sideSaid(value) {
  if (value === 0) return "middle";
  return `${Math.abs(value)} percent to the ${value < 0 ? "left" : "right"}`;
}

export function makeMixer(drawer, engine, plan) {
  const { body } = drawer.add("Sound");
  const table = element("div", "rl-mix", body);
  const more = element("div", "rl-line", body);
  const { settings } = engine;
  const home = tickBox("home beat", more, (on) => engine.set("home", { ...settings.home, on }));
  const homeLevel = range("level of the home beat", more, { min: 0, max: 100, step: 5, said: percent }, (value) =>
    engine.set("home", { on: settings.home.on, level: value / 100 }),
  );
  const grid = tickBox("grid ticks", more, (on) => engine.set("grid", on));
  const voices = choice(
    "voices",
    more,
    [["own", "each its own"], ["equal", "all the same"], ["swapped", "swapped"]],
    (value) => engine.set("sounds", value),
  );
  let drawn = "";
  let strips = [];
  const change = (i, what) => {
    const lanes = settings.lanes.slice();
    lanes[i] = { ...lanes[i], ...what };
    engine.set("lanes", lanes);
  };
  const draw = (names) => {
    table.replaceChildren();
    strips = names.map((name, i) => {
      const line = element("div", "rl-line", table, { role: "group", "aria-label": `sound of ${name}` });
      element("b", "rl-lane", line).textContent = name;
      const level = range(`level of ${name}`, line, { min: 0, max: 100, step: 5, said: percent }, (value) =>
        change(i, { level: value / 100 }),
      );
      const side = range(`side of ${name}`, line, { min: -100, max: 100, step: 5, said: sideSaid }, (value) =>
        change(i, { side: value / 100 }),
      );
      const mute = tickBox("mute", line, (on) => change(i, { mute: on }), `mute ${name}`);
      const solo = tickBox("solo", line, (on) => change(i, { solo: on }), `solo ${name}`);
      return { level, side, mute, solo };
    });
  };
  return () => {
    const lanes = (plan()?.lanes || []).slice(0, MOST_LANES);
    const names = lanes.map((lane) => lane.said || lane.name);
    for (let i = settings.lanes.length; i < lanes.length; i += 1) settings.lanes.push(firstLane(i));
    if (drawn !== names.join("|")) {
      drawn = names.join("|");
      draw(names);
    }
    strips.forEach((strip, i) => {
      const lane = settings.lanes[i];
      strip.level.write(Math.round(lane.level * 100));
      strip.side.write(Math.round(lane.side * 100));
      strip.mute.box.checked = lane.mute;
      strip.solo.box.checked = lane.solo;
    });
    home.box.checked = settings.home.on;
    homeLevel.write(Math.round(settings.home.level * 100));
    grid.box.checked = settings.grid;
    grid.label.hidden = !plan() || !hasGrid(plan(), true);
    voices.select.value = settings.sounds;
    voices.label.hidden = lanes.length < 2;
  };
}
