// What each row is played on: no beat of home is struck on a drum that a lane which is heard strikes with it.
import { allPlayed } from "./rows.mjs";
import { HOME_OTHER, VOICE } from "./desk.mjs";
import { levelOf, voiceOf } from "./settings.mjs";

/** The voices of rows, as the settings stand. `source` says what to play, as for the engine. */
export function makeVoices(source, settings) {
  let [rows, doubled] = [[], new Map()]; // whether some lanes play every beat of a home, by the numbers of both
  const take = (other) => {
    rows = other;
    doubled = new Map();
  };
  /** The voice of a row; none for a home whose every beat a lane that is heard plays on the same drum. */
  const voiceFor = ({ kind, index }) => {
    const plan = source.plan();
    if (kind === "lane") return voiceOf(plan, settings.sounds, index);
    if (kind === "count" && settings.clap) return "clap";
    if (kind !== "home") return VOICE[kind];
    const lanes = settings.lanes.slice(0, plan.lanes.length);
    const same = rows.filter((row) => row.kind === "lane" && voiceFor(row) === VOICE.home && levelOf(lanes, row.index, settings.quiet) > 0);
    if (!same.length) return VOICE.home;
    const which = [index, ...same.map((row) => row.index)].join();
    if (!doubled.has(which)) doubled.set(which, allPlayed(rows.find((row) => row.kind === kind && row.index === index), same));
    return doubled.get(which) ? null : HOME_OTHER;
  };
  /** What the beats of each home are played on now, as one text. */
  const beaten = () => rows.filter((row) => row.kind === "home").map(voiceFor).join();
  return { take, voiceFor, beaten };
}
