// The engine: one for each model. It starts and stops, looks a little ahead, and says what sounds now.
import { makeLay } from "./lay.mjs";
import { makeOutput } from "./output.mjs";
import { refusal } from "./bounds.mjs";

/** Seconds looked ahead, in view and in a hidden tab; a page blocked for less loses no stroke. */
export const AHEAD = 0.8;
const AHEAD_HIDDEN = 1.6;
const EVERY_MS = 25;
const LEAD = 0.12;
/** Settings that change what a take is measured against. */
const DISTURBS = new Set(["slow", "loop", "drop", "part"]);
/** Settings that change how many strokes there are in a second. */
const DENSER = new Set(["slow", "loop", "grid"]);
const TOO_MANY = "The sound has stopped: there were more strokes at once than the sound card can lay. Press Start to go on.";
const HELD = "The tempo rises no further: faster, there are more strokes a second than the sound card can lay.";

/**
 * Make an engine. `source` says what to play: plan(), voices(), home(), setHome(i), tell(text), seen().
 * `tools` are the browser's: makeContext(rate), place, later(ms, fn) -> put off, every(ms, fn) -> stop, hidden(), pressed(),
 * pageNow(), sounding(), and whenHidden(fn), whenLeft(fn), whenElsewhere(fn), each -> listen no more.
 */
export function makeEngine(source, settings, tools) {
  let lay = null, stopTimer = null, shown = null, starting = 0, closing = false, waking = false, own = false;
  let told = false, unlisten = [], last = { late: 0, dropped: 0, scheduled: 0 };
  const output = makeOutput(source, settings, tools);
  const watchers = new Set();
  const changed = () => watchers.forEach((watcher) => watcher());
  const playing = () => stopTimer !== null;

  const setHome = (home) => {
    own = true;
    if (source.home() !== home) source.setHome(home);
    own = false;
  };
  /** Show home as flipped when its beat is heard. */
  const show = () => {
    const now = lay.homeAt(lay.timeline().posAt(output.audioAt(tools.pageNow())));
    if (now === shown) return;
    shown = now;
    setHome(now.home);
    changed();
  };
  const pump = () => {
    if (closing) return;
    if (!source.seen()) return stop();
    output.read();
    if (!lay.upTo(clock() + (tools.hidden() ? AHEAD_HIDDEN : AHEAD))) return stopFor(TOO_MANY);
    if (lay.held() && !told) source.tell(HELD);
    told = lay.held();
    show();
    if (source.pumped) source.pumped();
  };
  const stopFor = (why) => {
    stop();
    source.tell(why);
  };
  const relay = (change) => {
    lay.relay(change);
    pump();
    changed();
  };
  /** Hear, while we sound or are about to, that somebody else does, or that the page is hidden or left. */
  const listen = () => {
    hush();
    const elsewhere = () => (source.elsewhere ? source.elsewhere() : stop());
    unlisten = [tools.whenHidden(() => playing() && pump()), tools.whenLeft(stop), tools.whenElsewhere(elsewhere)];
  };
  const hush = () => {
    for (const end of unlisten) end();
    unlisten = [];
  };
  const ready = () => output.ready(playing());
  const clock = () => output.context().currentTime;
  /** Start; `turns` of the slice at a steady tempo for a take, without end otherwise. */
  async function start({ countIn = settings.countIn, turns = Infinity, lead = LEAD } = {}) {
    const plan = source.plan();
    if (playing() || !plan || !plan.lanes) return false;
    starting += 1;
    const mine = starting;
    const refused = () => {
      const why = refusal(source.plan(), settings, { home: source.home(), countIn });
      source.tell(why);
      return why !== "";
    };
    if (refused()) return false;
    waking = true;
    listen();
    const can = await ready();
    if (mine !== starting) return false;
    waking = false;
    if (!can || refused()) {
      hush();
      return false;
    }
    output.open();
    lay = makeLay(source, settings, output.context(), output);
    lay.begin(countIn, lead, turns);
    told = false;
    shown = lay.homeAt(0);
    output.fadeIn();
    tools.sounding(); // before ours runs: it stops all others
    stopTimer = tools.every(EVERY_MS, pump);
    pump();
    changed();
    return playing();
  }
  function stop() {
    starting += 1;
    waking = false;
    if (closing) return;
    hush();
    if (!playing()) return;
    closing = true;
    if (source.stopping) source.stopping();
    closing = false;
    const asked = lay.asked(lay.timeline().posAt(clock()));
    if (asked !== null) setHome(asked); // a flip that was still to come
    stopTimer();
    stopTimer = null;
    output.fadeOut();
    lay.end(clock() + 0.05);
    const { late, dropped, scheduled } = (last = lay.report());
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
    if (playing() && !closing && DENSER.has(name)) {
      const turn = Math.max(0, Math.floor(lay.timeline().posAt(clock())));
      const why = refusal(source.plan(), { ...settings, [name]: value }, { home: source.home(), turn });
      if (why) source.tell(why);
      if (why) return changed();
    }
    if (playing() && !closing && DISTURBS.has(name) && source.disturbed) source.disturbed(name);
    settings[name] = value;
    if (closing) return;
    if (playing() && ["volume", "lanes", "home"].includes(name)) output.level();
    else if (playing() && name !== "countIn" && name !== "flipEvery") {
      relay((pos) => {
        if (name === "rise" || name === "drop") settings[name].from = Math.max(0, Math.floor(pos));
        if (name === "loop") return startAgain(pos);
        if (name === "grid" || name === "part") lay.layRows();
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
    if (!sameStrokes) settings.loop = settings.part = null;
    if (!playing()) return changed();
    const why = refusal(source.plan(), settings, { home: Math.min(source.home(), lay.lastHome()) });
    if (why) return stopFor(why);
    if (sameStrokes) return relay(() => {});
    output.level();
    relay((pos) => startAgain(pos, source.home() === shown.home ? null : source.home()));
  }
  /** What sounds now, or at a page time: see `lay.now`; null at rest. */
  const now = (pageMs = tools.pageNow()) => (playing() ? lay.now(lay.timeline().posAt(output.audioAt(pageMs))) : null);
  /** Give the sound card back: nobody looks at us any more. */
  function release() {
    stop();
    output.release();
    lay = null;
  }
  function dispose() {
    release();
    watchers.clear();
  }
  const watch = (watcher) => watchers.add(watcher) && (() => watchers.delete(watcher));
  const toggle = () => (playing() || waking ? stop() : start());
  const report = () => (playing() ? lay.report() : { ...last });
  return { start, stop, ready, toggle, flip, homeMoved, set, replan, now, release, dispose, watch, playing, settings, report,
    inherit: output.inherit, context: output.context, out: () => output.desk().out, timeline: () => lay.timeline(), slice: () => lay.slice(),
    audioAt: output.audioAt };
}
