// The recorder: one for each model. A take, or the calibration before it, from count-in to the message.
import { firstLane } from "./settings.mjs";
import { CALIBRATION, TAIL, calibrated, calibrationPlan, hold, hourSaid, keepOffset, letGo, makeTaps, messageOf, newId, storedOffset, unsent } from "./take.mjs";

const RESEND_MS = 5000;
const ANSWER_MS = 6000;
const LOST = "Python has not answered yet, and this browser keeps nothing: leave the page open and run it again.";
/** What a calibration puts aside: it is one steady click, whatever is being practised. */
const PLAIN = {
  loop: null, part: null, flipEvery: 0, slow: 100, grid: false, sounds: "own", lanes: [], home: { on: false, level: 0 },
  drop: { sounding: 4, silent: 0, from: 0 }, rise: { by: 0, every: 4, from: 0 },
};
const DISTURBED = { slow: "speed", drop: "drop-out" };
const ELSEWHERE = "another tab or window began to sound";
const WAITS = "Python has not answered yet. The take is kept in this browser, and goes out again when a page is run.";

/** Beats that count a take in: one cycle of home, two of a short one, four where it is long. */
export function takeCountIn(plan, home) {
  const beats = (plan.homes[home] || []).length;
  if (beats === 3) return 6;
  return beats >= 4 && beats <= 8 ? beats : 4;
}

/** Which lanes a mode asks the player for, and which therefore keep quiet. */
export function lanesOf(mode, plan, mine) {
  return mode === "one pulse" ? [Math.min(mine, plan.lanes.length - 1)] : plan.lanes.map((_, i) => i);
}

/**
 * Make a recorder. `link` is the way to Python: plan(), home(), send(message), tell(text); `store` keeps what was
 * not acknowledged; `tools` as for the engine, and date().
 */
export function makeRecorder(engine, link, store, tools) {
  let phase = "idle", wanted = null, taps = null, before = null, sent = 0, interrupted = false;
  const waiting = new Set();
  const watchers = new Set();
  const changed = () => watchers.forEach((watcher) => watcher());
  const finish = () => {
    phase = "idle";
    engine.set("quiet", []);
    if (before) Object.assign(engine.settings, before);
    before = null;
    changed();
  };
  /** Begin: `more` is {mode, mine, limbs, leftHanded, cycles}. */
  async function record(more) {
    if (phase !== "idle") return engine.stop();
    engine.stop();
    engine.set("part", null); // a take is all of the cycle
    const plan = link.plan();
    const lanes = lanesOf(more.mode, plan, more.mine);
    const { drop, countIn } = engine.settings;
    const silent = drop.silent > 0 ? [drop.sounding, drop.silent] : [0, 0];
    const least = silent[1] > 0 ? silent[0] + silent[1] + 1 : 1; // a take with silence ends after coming back
    wanted = { ...more, cycles: Math.max(more.cycles, least), lanes, silent, plan, slow: engine.settings.slow, home: link.home() };
    link.clear();
    taps = makeTaps((ms) => engine.audioAt(ms));
    phase = "take";
    engine.set("quiet", lanes);
    if (!(await engine.start({ countIn: Math.max(countIn, takeCountIn(plan, link.home())), turns: wanted.cycles }))) finish();
    changed();
  }
  async function calibrate() {
    if (phase !== "idle") return engine.stop();
    engine.stop();
    const { settings } = engine;
    before = Object.fromEntries(Object.keys(PLAIN).map((name) => [name, settings[name]]));
    Object.assign(settings, PLAIN, { lanes: [firstLane(0)] });
    taps = makeTaps((ms) => engine.audioAt(ms));
    phase = "calibrate";
    if (!(await engine.start({ countIn: CALIBRATION.countIn, turns: CALIBRATION.clicks }))) finish();
    changed();
  }
  const plan = () => (phase === "calibrate" ? calibrationPlan(link.plan().rate) : link.plan());
  /** A stroke of the player at a page time in ms, in one of the rows; only a take or a calibration listens. */
  const tap = (rows, pageMs, input) => {
    if (phase === "idle" || !engine.playing()) return false;
    taps.add(rows, pageMs, input);
    changed();
    return true;
  };
  const turns = () => (phase === "calibrate" ? CALIBRATION.clicks : wanted.cycles);
  const pumped = () => {
    if (phase === "idle") return;
    taps.settle(tools.pageNow());
    const now = engine.now();
    if (now && (now.pos - turns()) * engine.timeline().turnSAt(now.pos) > TAIL) engine.stop();
  };
  /** The sound stops: at the end of the take, or before it, and then the whole cycles played so far count. */
  const stopping = () => {
    if (phase === "idle") return;
    const now = engine.now();
    taps.settle(0, true);
    const timeline = engine.timeline();
    const clickAt = (n) => timeline.timeOf(n);
    if (phase === "calibrate") {
      tellOffset(calibrated(taps.all().map((one) => one.time), clickAt));
      return finish();
    }
    const cycles = Math.min(wanted.cycles, Math.floor(now.pos + 1e-6));
    if (cycles < 1) {
      link.tell("The take was stopped before one cycle was full, so there is nothing to measure.");
      return finish();
    }
    const end = timeline.timeOf(cycles) + TAIL;
    const message = messageOf({
      id: newId(), when: hourSaid(tools.date()), plan: wanted.plan, wanted: { ...wanted, cycles }, slice: engine.slice(),
      t0: timeline.timeOf(0), turnS: timeline.turnSAt(0), taps: taps.all().filter((one) => one.time <= end),
      report: engine.report(), offset: storedOffset(store), context: engine.context(),
      slow: wanted.slow, home: wanted.home, interrupted,
    });
    deliver(message);
    finish();
  };
  /** Keep a message, send it, and say so if nobody answers. */
  const deliver = (message) => {
    const held = hold(store, message);
    waiting.add(message.id);
    sent += 1;
    try {
      link.send(message);
    } catch {
      // no kernel to send to: the message waits
    }
    tools.later(ANSWER_MS, () => {
      if (waiting.has(message.id)) link.tell(held ? WAITS : LOST);
    });
  };
  /** Tempo, numbers, speed, loop or drop-out change while it records: the take ends with what was played before. */
  const disturbed = (what) => {
    if (phase !== "take") return;
    const already = sent;
    engine.stop();
    if (sent === already) return;
    link.tell(`The take ended when the ${DISTURBED[what] || what} changed: what was played before that counts.`);
  };
  /** Another tab or window begins to sound: ours stops as Stop does, and says why. */
  const elsewhere = () => {
    const [was, already] = [phase, sent];
    interrupted = true; // such a take counts for nothing
    engine.stop();
    interrupted = false;
    if (sent > already) return link.tell(`The take ended because ${ELSEWHERE}: it counts for nothing.`);
    const more = was === "idle" ? "" : ` ${link.told()}`;
    link.tell(`The sound stopped because ${ELSEWHERE}.${more}`.trim());
  };
  const tellOffset = (found) => {
    if (found.why) return link.tell(`The calibration says nothing: ${found.why}. Try again, softly and steadily.`);
    keepOffset(store, found.offset);
    link.tell("");
  };
  /** What Python has, it keeps; what it never got goes again, once it can listen. */
  const acknowledged = (id) => {
    letGo(store, id);
    waiting.delete(id);
    if (link.told() === WAITS) link.tell("");
  };
  const sendAgain = () => {
    if (!tools.first("resend")) return; // one stage of the page is enough
    const now = tools.date().getTime();
    for (const message of unsent(store)) {
      if (now - new Date(message.when).getTime() < RESEND_MS) continue;
      try {
        link.send({ ...message, again: true });
      } catch {
        return; // still nobody to send to
      }
    }
  };
  const watch = (watcher) => {
    watchers.add(watcher);
    return () => watchers.delete(watcher);
  };
  return { record, calibrate, tap, plan, pumped, stopping, disturbed, elsewhere, acknowledged, sendAgain, watch,
    phase: () => phase, count: () => (taps ? taps.count() : 0), offset: () => storedOffset(store) };
}
