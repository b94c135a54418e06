// Laying strokes: what is handed to the desk ahead of time, taken back when something changes, and laid anew.
import { makeTimeline, turnSeconds } from "./timeline.mjs";
import { beatTicks, firstFrom, hasStroke, inPart, isTooSoon, makeRows, positionOf, sliceOf } from "./rows.mjs";
import { makeVoices } from "./beats.mjs";
import { silentAt, speedAt } from "./settings.mjs";
import { BURST, hasGrid, mostOf, placesOf, tooMany } from "./bounds.mjs";

/** A moment that is near enough to be heard at once and far enough to be laid in time, in seconds. */
const SAFE = 0.06;
const SAFE_FLIP = 0.04;
const TOO_LATE = 0.02;
/** Strokes and turns looked at in one go, and seconds of the densest strokes that may be laid at once: no more, ever. */
const MOST_STEPS = 50_000;
const SPARE_S = 1.5;
/** Turns that a home is remembered for after it has been left. */
const KEEP_TURNS = 4;

/** Make a layer of strokes on a desk. `source` says what to play, as for the engine. */
export function makeLay(source, settings, context, desk) {
  const voices = makeVoices(source, settings);
  let rows = [], nodes = [], homes = [], slice = null, timeline = null, boundary = 1, limit = Infinity, counted = 0;
  let places = null, heap = 0, reached = 0, held = false, first = 0, onto = null;
  let report = { late: 0, dropped: 0, scheduled: 0 };
  const homeAt = (pos) => homes.findLast((one) => one.pos <= pos + 1e-9) || homes[0];
  const wished = (turn) => {
    const bpm = source.plan().bpms[first] || 60; // a rise is counted in bpm of the home that it began with
    const wanted = limit < Infinity ? { ...settings, rise: { ...settings.rise, by: 0 } } : settings;
    return turnSeconds(source.plan(), slice, speedAt(wanted, turn, bpm));
  };
  const fits = (seconds) => tooMany(places, seconds, mostOf(source.plan())) === 0;
  /** Seconds of a turn: what the settings ask for, and where the tempo rises no faster than can be laid. */
  const turnS = (turn) => {
    const seconds = wished(turn);
    const before = timeline.turnSAt(turn);
    if (seconds >= before || fits(seconds)) return seconds;
    held = true;
    return before;
  };
  const layRows = () => {
    const grid = hasGrid(source.plan(), settings.grid);
    onto = null; // what the beats of home that are laid are played on
    rows = makeRows(source.plan(), slice, { countIn: counted, home: source.home(), gridTicks: grid, part: settings.part });
    voices.take(rows);
    places = placesOf(source.plan(), slice, settings);
  };
  /** Start afresh: the slice's first stroke at `lead` seconds from now, after the count-in; `turns` for a take. */
  const begin = (countIn, lead, turns = Infinity) => {
    const plan = source.plan();
    limit = turns;
    slice = sliceOf(plan, settings.loop);
    first = source.home();
    homes = [{ pos: -Infinity, home: first }];
    settings.rise.from = settings.drop.from = 0;
    [boundary, nodes, report] = [1, [], { late: 0, dropped: 0, scheduled: 0 }];
    counted = countIn;
    [heap, reached, held] = [0, context.currentTime, false];
    layRows();
    desk.prepare(rows, voices.voiceFor);
    const seconds = wished(0);
    const ahead = (countIn * beatTicks(plan, slice, source.home()) * seconds) / (slice.stop - slice.start);
    timeline = makeTimeline(Math.ceil((context.currentTime + lead + ahead) * plan.rate) / plan.rate, seconds);
  };
  const stroke = (row, n) => {
    const pos = positionOf(row, n);
    const when = timeline.timeOf(pos);
    if (row.kind === "home" && homeAt(pos).home !== row.index) return;
    if (row.kind === "lane" && isTooSoon(settings.part, pos)) return;
    if (row.kind !== "count" && silentAt(settings.drop, Math.floor(pos + 1e-9))) return;
    const now = context.currentTime;
    if (when < now - TOO_LATE) {
      report.dropped += 1;
      return;
    }
    const voice = voices.voiceFor(row);
    if (row.kind === "home") onto = onto ?? voices.beaten();
    if (voice === null) return;
    if (when < now) report.late += 1;
    heap += 1;
    const lane = row.kind === "lane";
    const [i, key] = [row.once ? n : n % row.ticks.length, lane ? `lane${row.index}` : row.kind];
    const played = voice && desk.play(key, voice, Math.max(when, now), row.weights[i], row.variants[i]);
    report.scheduled += 1;
    if (played) {
      if (row.rings) desk.damp(row.rings, played);
      row.rings = played;
      nodes.push({ source: played.source, when, pos, kind: row.kind });
    }
    if (source.scheduled) source.scheduled({ kind: row.kind, index: row.index, pos, when, now });
  };
  /** Lay what comes before a position; returns how many steps are left, fewer than 0 when it is too much. */
  const layUntil = (until, most, steps) => {
    let left = steps - 1; // a turn without a stroke is a step too
    for (const row of rows) {
      while (left >= 0 && hasStroke(row, row.next) && positionOf(row, row.next) < until - 1e-9) {
        stroke(row, row.next);
        row.next += 1;
        left = heap > most ? -1 : left - 1;
      }
    }
    return left;
  };
  /** What changes where a turn begins: the tempo that rises, and home on call. */
  const cross = (turn) => {
    const seconds = turnS(turn);
    if (Math.abs(seconds - timeline.turnSAt(turn)) > 1e-12) timeline.change(turn, seconds);
    if (settings.flipEvery > 0 && turn % settings.flipEvery === 0) {
      const home = (homeAt(turn - 1e-6).home + 1) % source.plan().homes.length;
      const later = homes.filter((one) => one.pos > turn);
      homes = [...homes.filter((one) => one.pos <= turn), { pos: turn, home, onCall: true }, ...later];
    }
  };
  /** Lay the beats of home anew where a lane, muted or heard again, changes what they are played on. */
  const rehome = () => {
    if (onto === null || onto === voices.beaten()) return;
    onto = null;
    const soon = timeline.posAt(context.currentTime + SAFE_FLIP);
    cancel((node) => node.kind === "home" && node.pos >= soon - 1e-9);
    for (const one of rows) if (one.kind === "home") [one.next, one.rings] = [firstFrom(one, soon), null];
  };
  /** Lay all strokes up to a moment of the audio clock; says whether it could: not when there are too many. */
  const upTo = (horizon) => {
    rehome();
    // strokes heap up as they are laid and melt as fast as can be sounded; a heap that grows too high is refused
    const rate = BURST * mostOf(source.plan());
    const gone = Math.max(0, horizon - reached);
    heap = Math.max(0, heap - gone * rate);
    reached = Math.max(reached, horizon);
    const most = (gone + SPARE_S) * rate + counted;
    let steps = MOST_STEPS;
    for (;;) {
      const until = Math.min(timeline.posAt(horizon), boundary, limit);
      steps = layUntil(until, most, steps);
      if (steps < 0 || Number.isNaN(until)) return false;
      if (until < boundary) break;
      if (boundary < limit) cross(boundary);
      boundary += 1;
    }
    nodes = nodes.filter((node) => node.when > context.currentTime - 1);
    const left = homes.findLastIndex((one) => one.pos <= timeline.posAt(context.currentTime) - KEEP_TURNS);
    if (left > 0) homes = homes.slice(left);
    return true;
  };
  const cancel = (which) => {
    for (const node of nodes) if (which(node)) node.source.stop();
    nodes = nodes.filter((node) => !which(node));
  };
  /** Take back what is laid ahead, change something, and go on from the same place, or from what it says. */
  const relay = (change) => {
    const from = context.currentTime + SAFE;
    let pos = timeline.posAt(from);
    cancel((node) => node.when >= from);
    pos = change(pos) ?? pos;
    const next = homes.filter((one) => !one.onCall || one.pos <= pos);
    homes = next.length ? next : homes.slice(0, 1);
    boundary = Math.max(1, Math.floor(pos) + 1);
    timeline.change(pos, turnS(Math.max(0, Math.floor(pos))));
    [heap, reached, onto] = [0, context.currentTime, null];
    for (const row of rows) [row.next, row.rings] = [firstFrom(row, pos), null];
  };
  /** The home that was asked for by hand and has not come yet, or null. */
  const asked = (pos) => homes.filter((one) => !one.onCall && one.pos > pos).at(-1)?.home ?? null;
  /** Begin the slice, or another plan, at a position: a turn starts there. */
  const restart = (pos, wish = null) => {
    slice = sliceOf(source.plan(), settings.loop);
    const wanted = wish ?? asked(pos) ?? homeAt(pos).home;
    const [t, home] = [timeline.timeOf(pos), Math.min(wanted, source.plan().homes.length - 1)];
    counted = 0;
    homes = [{ pos: -Infinity, home }];
    first = home;
    timeline = makeTimeline(t, wished(0));
    settings.rise.from = settings.drop.from = 0;
    layRows();
    return 0;
  };
  /** Move home at the next beat of the new home; no stroke of a lane is touched. */
  const flip = (home) => {
    const soon = timeline.posAt(context.currentTime + SAFE_FLIP);
    const row = rows.find((one) => one.kind === "home" && one.index === home);
    const pos = row ? positionOf(row, firstFrom(row, soon)) : Math.max(1, Math.ceil(soon));
    homes = [...homes.filter((one) => one.pos < pos), { pos, home }];
    cancel((node) => node.kind === "home" && node.pos >= pos - 1e-9);
    for (const one of rows) if (one.kind === "home") one.next = firstFrom(one, pos);
  };
  /** What sounds at a position: turn, tick, home and its beats, silence, and the share of the tempo. */
  const now = (pos) => {
    const { home } = homeAt(pos);
    const { ticks, homes: beats, cycle } = source.plan();
    const [turn, span, { part }] = [Math.floor(pos), slice.stop - slice.start, settings];
    const tick = slice.start + (pos - turn) * span;
    return { pos, turn, tick, slice: part || slice, rest: !inPart(part, Math.floor(tick), ticks), whole: span === ticks, home, speed: turnSeconds(source.plan(), slice, 1) / timeline.turnSAt(pos),
      beats: beats?.[home] || [], bars: cycle?.bars || [], silent: silentAt(settings.drop, turn), next: homes.at(-1).home };
  };
  const end = (when) => {
    for (const node of nodes.splice(0)) node.source.stop(when);
    for (const row of rows) row.rings = null; // or the last stroke of each row would stay on the card
  };
  return { begin, upTo, relay, restart, flip, end, homeAt, asked, layRows, now, report: () => ({ ...report }), held: () => held,
    timeline: () => timeline, slice: () => slice, lastHome: () => homes.at(-1).home };
}
