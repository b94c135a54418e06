// The room: what a wall has more than a page. Its buttons, and the numbers that were called out.
import { button, element, putText } from "./parts.mjs";
import { fillScreen } from "./browser.mjs";
import { sideOf } from "./desk.mjs";
import { nextHome } from "./picture.mjs";
import { roomKeys } from "./roomkeys.mjs";
import { firstLane } from "./settings.mjs";
import { STEP, askedBpm, held, slowed } from "./slide.mjs";
import { lineSaid, longestSaid, whereSaid } from "./where.mjs";

/** Beats of a clapped count-in. */
export const CLAPS = 4;
/** Seconds from the answer to the first stroke: no shorter than it takes to lay it. */
const AT_ONCE = 0.05;
/** How long the numbers may take until they are there, in ms. */
const PATIENCE = 3000;
const ASLEEP_NOW = "The page has not answered, so the old numbers stay: run the page again, or press Enter again.";
const LOST_SILENT = "Start first: where we are is said while it sounds.";
const BARED = "Bare: the numbers, the picture and the count are left. B brings the rest back.";

/** Sides of the lanes: one half of the room each, the first the right one, or where they stand at first. */
export function sides(lanes, count, halves, mirrored = false) {
  const first = mirrored ? -1 : 1;
  return Array.from({ length: count }, (_, i) => ({
    ...(lanes[i] || firstLane(i)),
    side: halves ? [first, -first, 0, 0][i % 4] : sideOf(i),
  }));
}

/** Build the presenter's part of a wall: its buttons, its line, its advice. `stage` is {model, el, figure, folds, plan, picture, flip, setBpm, tell}. */
export function makeRoom(aside, engine, stage) {
  const { model, el, figure, folds, plan, picture, tell } = stage;
  const { settings } = engine;
  const controls = element("div", "rl-controls", aside);
  aside.append(folds);
  const hint = element("p", "rl-hint", aside);
  const advice = element("div", "rl-advice", aside, { "aria-live": "polite" });
  const room = () => model.get("room") || {};
  const ask = (pressed, more = {}) => model.send({ pressed, ...more });
  let [asked, waiting, lost, bare] = [0, null, false, Boolean(room().bare)];
  let [told, put] = [bare, room().put];
  let longest = ["", ""]; // what the large line becomes in a cycle
  const unanswered = []; // what Bare was set to here, one for each press that Python has not answered
  const clear = () => {
    if (waiting) clearTimeout(waiting.timer);
    waiting = null;
  };
  const answered = () => {
    if (!waiting || room().answered !== waiting.number) return;
    clear();
    if (room().refused) calling(false); // beside a groove its title alone says what is there
    if (model.get("notice") || room().refused) return;
    if (engine.playing()) engine.stop(); // the same numbers again
    const last = (model.get("pictures") || []).length - 1;
    if (last > 0 && model.get("home") !== last) engine.flip(last); // a flip just before was still on its way
    engine.start({ lead: AT_ONCE });
  };
  /** Have Python show the numbers that stand in the fields, and start as soon as it has; what sounds goes on until then. */
  const enter = (fields) => {
    clear();
    asked = Math.max(asked, room().answered || 0) + 1;
    const number = asked;
    waiting = { number, timer: setTimeout(() => { waiting = null; tell(ASLEEP_NOW); }, PATIENCE) };
    ask("enter", { number, texts: fields.map((field) => field.value) });
    engine.ready(); // the sound card wakes while Python draws
    leave(fields); // what Python writes into them is its answer
  };
  /** From the fields to the picture, and nothing is sent: the next key is a key of the wall again. */
  const leave = (fields) => {
    for (const field of fields) field.rlHeld = true;
    figure.focus({ preventScroll: true });
    for (const field of fields) field.rlHeld = false;
  };
  const does = {
    enter,
    back: (fields) => {
      for (const field of fields) field.rlBack();
      leave(fields);
      calling(false);
    },
    flip: stage.flip,
    slow: () => engine.set("slow", settings.slow === 100 ? slowed(picture() ? picture().bpm : 0) : 100),
    clap: () => engine.set("countIn", settings.countIn ? 0 : CLAPS),
    gaps: () => ask("gaps"),
    halves: () => ask("halves"),
    next: () => step("next"),
    previous: () => step("previous"),
    faster: () => nudge(STEP),
    slower: () => nudge(-STEP),
    where: () => {
      if (!engine.playing()) return tell(LOST_SILENT);
      lost = !lost;
      update();
      speak(lost ? whereNow(engine.now()) : "");
    },
    bare: () => {
      bare = !bare;
      figure.focus({ preventScroll: true }); // the button pressed may be gone
      update();
      unanswered.push(bare);
      ask("bare", { on: bare });
    },
  };
  const whereNow = (now) => {
    if (!now || now.turn < 0) return ""; // before the first beat of all
    const shown = (model.get("pictures") || [])[now.home] || picture();
    return whereSaid(now.beats, now.bars || [], shown && shown.marks, now.tick, shown && shown.counted);
  };
  /** Said to a screen reader, and not seen. */
  const speak = (text) => {
    putText(spoken, text);
  };
  /** Another item may take away the button in focus, so that the next key would be lost: the picture has it first. */
  const step = (way) => {
    calling(false);
    figure.focus({ preventScroll: true });
    ask(way);
  };
  /** Beside a groove the fields of the numbers are seen only while numbers are called out. */
  const calling = (on) => {
    const wall = el.closest(".rl-wall");
    if (wall) wall.classList.toggle("rl-calling", on);
  };
  /** Faster or slower than what was last asked for, also while Python has not answered that yet. */
  const nudge = (by) => {
    const [low, high] = model.get("bpm_range");
    const asked = askedBpm(model.get("slid"), plan(), model.get("home"), picture().bpm);
    if (high) stage.setBpm(held(Math.round(asked) + by, low, high), { pressed: true });
  };
  const named = (text, key, action) => {
    const made = button(text, controls, () => does[action]());
    made.setAttribute("aria-keyshortcuts", key);
    return made;
  };
  const slow = named("Slow", "S", "slow");
  const gaps = named("Gap cycle", "G", "gaps");
  const halves = named("Halves", "H", "halves");
  const clap = named("Clap in", "C", "clap");
  const where = named("Where?", "W", "where");
  const bareButton = named("Bare", "B", "bare");
  bareButton.className += " rl-bare-button";
  button("Full screen", controls, () => fillScreen(el, figure));
  const spoken = element("p", "rl-spoken", el, { role: "status" });
  const press = (one, on) => one.setAttribute("aria-pressed", String(Boolean(on)));
  let sidesFor = "";
  const update = () => {
    const lanes = plan()?.lanes || [];
    const want = `${Boolean(room().halves)} ${Boolean(room().mirrored)} ${lanes.length}`;
    if (sidesFor !== want && lanes.length) {
      sidesFor = want;
      engine.set("lanes", sides(settings.lanes, lanes.length, room().halves, room().mirrored));
    }
    settings.clap = true; // a wall is counted in with claps, however long
    press(slow, settings.slow !== 100);
    press(gaps, room().gaps);
    press(halves, room().halves);
    press(clap, settings.countIn > 0);
    if (!engine.playing()) {
      if (lost) speak("");
      lost = false;
    }
    press(where, lost);
    if (Boolean(room().bare) !== told) {
      told = Boolean(room().bare);
      if (unanswered[0] === told) unanswered.shift(); // an answer to a press here, which may be over already
      else bare = told; // another view of this wall was pressed
    }
    if (bare !== spoken.rlBare) speak(bare ? BARED : "");
    spoken.rlBare = bare;
    press(bareButton, bare);
    const wall = el.closest(".rl-wall");
    const states = { "rl-bare": bare, "rl-lost": lost, "rl-sounds": engine.playing(), "rl-shown": room().pair === false };
    if (wall) Object.entries(states).forEach(([name, on]) => wall.classList.toggle(name, on));
    if (room().pair) calling(false);
    gaps.hidden = halves.hidden = !room().pair;
    if (hint.textContent !== room().hint) hint.textContent = room().hint || "";
    const homes = [...el.querySelectorAll(".rl-homes button")];
    homes.forEach((one, i) => {
      if (i === nextHome(model.get("home"), homes.length)) one.setAttribute("aria-keyshortcuts", "F");
      else one.removeAttribute("aria-keyshortcuts");
    });
    if (put !== room().put) {
      put = room().put;
      if (settings.slow !== 100) engine.set("slow", 100); // what is called next goes at its own tempo
    }
    answered();
    longest = longestSaid(wallNow(), settings.slow / 100);
  };
  const wallNow = () => ({ plan: plan(), home: model.get("home"), picture: picture(), lost, bare, where: whereNow });
  const line = (now, said) => lineSaid(now, said, wallNow());
  const unkey = roomKeys(el, does, () => calling(!room().pair));
  const close = () => {
    clear();
    unkey();
  };
  return { update, line, longest: () => longest, close, enter, does, advice, waits: () => waiting !== null };
}
