// The output of an engine: its hold on the page's sound card, its desk and its clock, from Start until it has faded.
import { LEVELS, makeDesk } from "./desk.mjs";
import { firstLane, levelOf } from "./settings.mjs";
import { makeClockMap } from "./clockmap.mjs";
import { cardHolder } from "./card.mjs";

const FADE_IN = 0.4;
/** How long the desk stays on the sound card after a stop, in ms: until the last sound has faded. */
const FADED_MS = 300;
/** How long a sound card may take to wake, in ms; longer on a busy machine where the browser no longer holds it back. */
const WAKES_MS = 800;
const PRESSED_WAKES_MS = 5000;
const HELD_BACK = "The browser holds the sound back until something in the page is pressed: press Start again.";

/** Make the output of an engine; `source`, `settings` and `tools` are the engine's. */
export function makeOutput(source, settings, tools) {
  const card = cardHolder(tools.place, tools.makeContext, tools.later);
  let context = null, desk = null, map = null;

  /** Have a sound card that runs, or say why there is none. `sounds` says whether we sound already. */
  async function ready(sounds) {
    try {
      context = card.take(source.plan().rate).context;
    } catch (error) {
      source.tell(error.message);
      return false;
    }
    card.sound(sounds);
    const mine = context;
    if (mine.state !== "running") {
      const resumed = Promise.resolve(mine.resume()).catch(() => {});
      await Promise.race([resumed, new Promise((done) => tools.later(tools.pressed() ? PRESSED_WAKES_MS : WAKES_MS, done))]);
    }
    if (mine.state === "running") return true;
    source.tell(HELD_BACK);
    return false;
  }
  /** Set all levels and sides as the settings have them; `now` at once, and otherwise without a click. */
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
  /** A desk and a clock of our own on the sound card. */
  const open = () => {
    const lent = card.take(source.plan().rate);
    context = lent.context;
    desk = makeDesk(context, source.voices, lent.rate, lent.buffers);
    map = makeClockMap(context, tools.pageNow);
  };
  const fadeIn = () => {
    level(true);
    const out = desk.out.gain;
    out.cancelScheduledValues(0);
    out.setValueAtTime(0, context.currentTime);
    out.linearRampToValueAtTime(settings.volume, context.currentTime + FADE_IN);
    card.sound(true);
  };
  /** Fade, and take the desk off the sound card when nothing of it is heard any more. */
  const fadeOut = () => {
    desk.out.gain.cancelScheduledValues(context.currentTime);
    desk.out.gain.setTargetAtTime(0, context.currentTime, 0.008);
    const faded = desk;
    tools.later(FADED_MS, () => {
      faded.close();
      if (desk === faded) desk = null;
    });
    card.sound(false);
  };
  const release = () => {
    card.give();
    [context, desk, map] = [null, null, null];
  };
  const play = (...stroke) => desk.play(...stroke);
  const prepare = (...rows) => desk.prepare(...rows);
  const damp = (...strokes) => desk.damp(...strokes);
  return { ready, prepare, play, damp, level, open, fadeIn, fadeOut, release, inherit: card.inherit,
    context: () => context, desk: () => desk, read: () => map.read(), audioAt: (ms) => map.audioAt(ms) };
}
