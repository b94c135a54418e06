// The strokes one by one, for whoever hears or reads what the picture shows: a table in the drawer, so many at a time.
import { button, element, setEnds } from "./parts.mjs";
import { beatOf } from "./rows.mjs";

/** Strokes that stand in the table at a time. */
const ROWS_SHOWN = 48;
const COLUMNS = ["beat", "part of it", "who plays", "with"];
/** What each lane of a pair is played with; other rhythms have pads that say it. */
const PLAYED = {
  hands: ["right hand", "left hand"],
  "hands swapped": ["left hand", "right hand"],
  "hand and foot": ["hand", "foot"],
  "voice and hand": ["voice", "hand"],
};

const common = (a, b) => (b ? common(b, a % b) : a);

/** What plays a stroke of a lane: its limb, or "" where none is named. */
function limbOf(plan, lane, nth, limbs, leftHanded) {
  const letters = plan.cycle?.lanes[lane]?.hands || "";
  const pad = (plan.pads || []).find(({ rows }) => rows.some(([of, letter]) => of === lane && (letter === "" || letter === letters[nth])));
  if (pad) return pad.said;
  const mirrored = leftHanded && limbs.startsWith("hands") ? 1 : 0;
  return plan.pulses ? (PLAYED[limbs] || [])[lane ^ mirrored] || "" : "";
}

/** The strokes of a plan by tick, those of one moment together: {tick, row}, the row as it stands under `COLUMNS`. */
export function strokesOf(plan, home, limbs = "hands", leftHanded = false) {
  const beats = plan.homes[home] || plan.homes[0] || [];
  const at = (tick) => {
    const beat = beatOf(beats, tick);
    const first = beats[beat - 1] <= tick ? beats[beat - 1] : beats[beat - 1] - plan.ticks; // before the first: the last cycle's
    return { beat, into: tick - first, long: (beat < beats.length ? beats[beat] : beats[0] + plan.ticks) - beats[beat - 1] };
  };
  const found = new Map();
  plan.lanes.forEach((lane, i) => {
    const places = beats.length ? lane.onsets.map(at) : [];
    const unit = places.reduce((all, { into, long }) => common(all, common(long, into)), 0);
    lane.onsets.forEach((tick, nth) => {
      const { beat, into, long } = places[nth] || {};
      const part = into ? `${into / unit + 1} of ${long / unit}` : "on the beat";
      const one = found.get(tick) || { tick, place: beats.length ? [String(beat), part] : ["", `tick ${tick}`], who: [], limbs: [] };
      one.who.push(lane.said || lane.name);
      one.limbs.push(limbOf(plan, i, nth, limbs, leftHanded));
      found.set(tick, one);
    });
  });
  const all = (list) => [...new Set(list.filter(Boolean))].join(" and ");
  const sorted = [...found.values()].sort((one, two) => one.tick - two.tick);
  return sorted.map(({ tick, place, who, limbs: with_ }) => ({ tick, row: [...place, all(who), all(with_)] }));
}

/** Put the table into a drawer. `read` says {plan, home, from, limbs, leftHanded}: `from`, the tick that the picture begins on. */
export function makeStrokes(drawer, read) {
  const { body, hide } = drawer.add("Strokes", () => update());
  const box = element("div", "rl-strokes", body, { tabindex: "0", role: "group", "aria-label": "strokes" });
  const line = element("div", "rl-line", body);
  const back = button("earlier", line, () => turn(-ROWS_SHOWN));
  const on = button("later", line, () => turn(ROWS_SHOWN));
  const said = element("span", "", line);
  let [drawn, rows, first] = ["", [], 0];

  const turn = (by) => {
    first += by;
    said.setAttribute("aria-live", "polite"); // not when another rhythm is shown, of which more is said elsewhere
    draw();
  };
  const draw = () => {
    first = Math.max(0, Math.min(first, rows.length - 1));
    const shown = rows.slice(first, first + ROWS_SHOWN);
    const table = element("table", "");
    const head = element("tr", "", element("thead", "", table));
    for (const name of COLUMNS) element("th", "", head, { scope: "col" }).textContent = name;
    const inside = element("tbody", "", table);
    for (const { row } of shown) {
      const made = element("tr", "", inside);
      for (const text of row) element("td", "", made).textContent = text;
    }
    box.replaceChildren(table);
    setEnds(back, on, first === 0, first + ROWS_SHOWN >= rows.length);
    back.hidden = on.hidden = rows.length <= ROWS_SHOWN;
    said.textContent = `${first + 1} to ${first + shown.length} of ${rows.length}`;
  };
  const update = () => {
    const { plan, home, from, limbs, leftHanded } = read();
    hide(!plan || !plan.lanes || !plan.homes);
    if (body.hidden) return;
    const now = JSON.stringify([plan.ticks, plan.lanes, plan.homes, home, from, limbs, leftHanded]);
    if (now === drawn) return;
    drawn = now;
    said.removeAttribute("aria-live");
    rows = strokesOf(plan, home, limbs, leftHanded);
    first = Math.max(0, rows.findIndex(({ tick }) => tick >= from));
    draw();
  };
  return { update };
}
