// The engine: one for each model. It starts and stops, looks a little ahead, and says what sounds now.
import { turnSeconds } from "./timeline.mjs";
import { LEVELS, makeDesk } from "./desk.mjs";
import { firstLane, levelOf, silentAt } from "./settings.mjs";
import { makeClockMap } from "./clockmap.mjs";
import { makeLay } from "./lay.mjs";

/** Seconds looked ahead, in view and in a hidden tab; a page blocked for less loses no stroke. */
export const AHEAD = 0.8;
const AHEAD_HIDDEN = 1.6;
const EVERY_MS = 25;
const LEAD = 0.12;
const FADE_IN = 0.4;
/** Settings that change what a take is measured against. */
const DISTURBS = new Set(["slow", "loop", "drop"]);

/**
 * Make an engine. `source` says what to play: plan(), voices(), home(), setHome(i), tell(text), seen().
 * `tools` are the browser's: makeContext(rate), every(ms, fn) -> stop, hidden(), pageNow(), sounding().
 */
export function makeEngine(source, settings, tools) {
  let context = null, desk = null, map = null, lay = null, stopTimer = null, shown = null, starting = 0, closing = false, waking = false, own = false;
  const watchers = new Set();
  const changed = () => watchers.forEach((watcher) => watcher());
  const playing = () => stopTimer !== null;

  const level = (now = false) => {
    const lanes = settings.lanes.slice(0, source.plan().lanes.length); // the solo of a pulse that is gone is gone
    source.plan().lanes.forEach((_, i) => {
      desk.set(`lane${i}`, levelOf(lanes, i, settings.quiet), (lanes[i] || firstLane(i)).side, now);
    });
    desk.set("home", settings.home.on ? settings.home.level : 0, 0, now);
    desk.set("grid", LEVELS.grid, 0, now);
    desk.set("count", LEVELS.count, 0, now);
    if (now) return;
    desk.out.gain.cancelScheduledValues(context.currentTime); // the fade-in must not lead back to another volume
    desk.out.gain.setTargetAtTime(settings.volume, context.currentTime, 0.02);
  };
  const setHome = (home) => {
    own = true;
    if (source.home() !== home) source.setHome(home);
    own = false;
  };
  /** Show home as flipped when its beat is heard. */
  const show = () => {
    const now = lay.homeAt(lay.timeline().posAt(map.audioAt(tools.pageNow())));
    if (now === shown) return;
    shown = now;
    setHome(now.home);
    changed();
  };
  const pump = () => {
    if (closing) return;
    if (!source.seen()) return stop();
    map.read();
    lay.upTo(context.currentTime + (tools.hidden() ? AHEAD_HIDDEN : AHEAD));
    show();
    if (source.pumped) source.pumped();
  };
  const unhide = tools.whenHidden(() => playing() && pump());
  const relay = (change) => {
    lay.relay(change);
    pump();
    changed();
  };
  /** Have a sound card that runs, or say why there is none. */
  async function ready() {
    if (!context) {
      try {
        context = tools.makeContext(source.plan().rate);
      } catch (error) {
        source.tell(error.message);
        return false;
      }
      desk = makeDesk(context, source.voices, source.plan().rate);
      map = makeClockMap(context, tools.pageNow);
      lay = makeLay(source, settings, context, desk);
    }
    if (context.state !== "running") {
      const resumed = Promise.resolve(context.resume()).catch(() => {});
      await Promise.race([resumed, new Promise((done) => setTimeout(done, 800))]);
    }
    if (context.state === "running") return true;
    source.tell("The browser holds the sound back until something in the page is pressed: press Start again.");
    return false;
  }
  /** Start; `turns` of the slice at a steady tempo for a take, without end otherwise. */
  async function start({ countIn = settings.countIn, turns = Infinity, lead = LEAD } = {}) {
    const plan = source.plan();
    if (playing() || !plan || !plan.lanes) return false;
    starting += 1;
    const mine = starting;
    source.tell("");
    waking = true;
    const can = await ready();
    if (mine === starting) waking = false;
    if (!can || mine !== starting) return false;
    lay.begin(countIn, lead, turns);
    shown = lay.homeAt(0);
    level(true);
    const out = desk.out.gain;
    out.cancelScheduledValues(0);
    out.setValueAtTime(0, context.currentTime);
    out.linearRampToValueAtTime(settings.volume, context.currentTime + FADE_IN);
    tools.sounding(); // before ours runs: it stops all others
    stopTimer = tools.every(EVERY_MS, pump);
    pump();
    changed();
    return true;
  }
  function stop() {
    starting += 1;
    waking = false;
    if (!playing() || closing) return;
    closing = true;
    if (source.stopping) source.stopping();
    closing = false;
    const asked = lay.asked(lay.timeline().posAt(context.currentTime));
    if (asked !== null) setHome(asked); // a flip that was still to come
    stopTimer();
    stopTimer = null;
    desk.out.gain.cancelScheduledValues(context.currentTime);
    desk.out.gain.setTargetAtTime(0, context.currentTime, 0.008);
    lay.end(context.currentTime + 0.05);
    const { late, dropped, scheduled } = lay.report();
    if (late + dropped > 0) {
      source.tell(
        `The browser was too busy: ${late + dropped} of ${scheduled + dropped} strokes came late or not at all.`,
      );
    }
    changed();
  }
  /** Move home: at once when silent; at the next beat of the new home when it sounds, and no stroke moves. */
  function flip(home) {
    if (!playing()) return source.setHome(home);
    lay.flip(home);
    pump();
    changed();
  }
  /** Home was moved from outside, by a control or by Python: the sound follows at the next beat. */
  function homeMoved(home) {
    if (!own && playing() && lay.lastHome() !== home) flip(home);
    changed();
  }
  /** Change a setting, also while it sounds. */
  function set(name, value) {
    if (playing() && !closing && DISTURBS.has(name) && source.disturbed) source.disturbed(name);
    settings[name] = value;
    if (closing) return;
    if (playing() && ["volume", "lanes", "home"].includes(name)) level();
    else if (playing() && name !== "countIn" && name !== "flipEvery") {
      relay((pos) => {
        if (name === "rise" || name === "drop") settings[name].from = Math.max(0, Math.floor(pos));
        if (name === "loop") return startAgain(pos);
        if (name === "grid") lay.layRows();
      });
    }
    changed();
  }
  function startAgain(pos, home = null) {
    const at = lay.restart(pos, home);
    shown = lay.homeAt(0);
    setHome(shown.home);
    return at;
  }
  /** The plan has changed: another tempo goes on at the same place, another rhythm begins at once. */
  function replan(sameStrokes) {
    if (playing() && source.disturbed) source.disturbed(sameStrokes ? "tempo" : "numbers");
    if (!sameStrokes) settings.loop = null;
    if (!playing()) return changed();
    if (sameStrokes) return relay(() => {});
    level();
    relay((pos) => startAgain(pos, source.home() === shown.home ? null : source.home()));
  }
  /** What sounds now: position in turns, tick, home and its beats, silence, and the share of the tempo. */
  function now(pageMs = tools.pageNow()) {
    if (!playing()) return null;
    const [timeline, slice] = [lay.timeline(), lay.slice()];
    const pos = timeline.posAt(map.audioAt(pageMs));
    const turn = Math.floor(pos);
    const { home } = lay.homeAt(pos);
    const tick = slice.start + (pos - turn) * (slice.stop - slice.start);
    const speed = turnSeconds(source.plan(), slice, 1) / timeline.turnSAt(pos);
    const silent = silentAt(settings.drop, turn);
    const whole = slice.stop - slice.start === source.plan().ticks;
    return { pos, turn, tick, slice, whole, home, beats: source.plan().homes[home] || [], bars: source.plan().cycle?.bars || [], silent, next: lay.lastHome(), speed };
  }
  function dispose() {
    stop();
    unhide();
    if (context) setTimeout(() => context.close(), 100);
    watchers.clear();
  }
  const watch = (watcher) => watchers.add(watcher) && (() => watchers.delete(watcher));
  const toggle = () => (playing() || waking ? stop() : start());
  const report = () => (lay ? lay.report() : { late: 0, dropped: 0, scheduled: 0 });
  return { start, stop, ready, toggle, flip, homeMoved, set, replan, now, dispose, watch, playing, settings, report,
    context: () => context, out: () => desk.out, timeline: () => lay.timeline(), slice: () => lay.slice(), audioAt: (ms) => map.audioAt(ms) };
}
