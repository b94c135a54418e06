// The stage: the picture and its words, the flip and the tempo slide, and the sound with all that belongs to it.
// One engine for each model, any number of views.
import { nextHome, pictureOf, show } from "./picture.mjs";
import { makeSlide, written } from "./slide.mjs";
import { guard, watchPage } from "./keys.mjs";
import { letViewsGo, watch } from "./wake.mjs";
import { backToTop } from "./top.mjs";
import { element, onceATask, putText } from "./parts.mjs";
import { firstSettings } from "./settings.mjs";
import { makeAhead } from "./ahead.mjs";
import { makeEngine } from "./engine.mjs";
import { sameStrokes, soundsAlike } from "./rows.mjs";
import { beatsOf, makeFitting } from "./fitting.mjs";
import { makeDrawer } from "./drawer.mjs";
import { put } from "./fields.mjs";
import { makeHead } from "./head.mjs";
import { makeGuess } from "./guess.mjs";
import { makeSave } from "./save.mjs";
import { makeShelf } from "./shelf.mjs";
import { makeStrokes } from "./strokes.mjs";
import { makeUnder } from "./under.mjs";
import { makeSoundbar, nowSaid, tempoSaid } from "./soundbar.mjs";
import { makeMixer } from "./mixer.mjs";
import { makePractise, practiseAs } from "./practise.mjs";
import { frameOf, makePlayhead } from "./playhead.mjs";
import { makePlay } from "./play.mjs";
import { makeRoom } from "./room.mjs";
import { makeRecorder } from "./recorder.mjs";
import { browserTools, soundKeys, stored } from "./browser.mjs";

const WATCHED = ["pictures", "home", "notice", "bpm_range", "plan", "look", "feedback", "mode", "limbs", "left_handed", "room", "parts", "head", "saves", "played", "answered", "struck", "answer"];

/** When the views round ours are closed too, in ms. */
const GONE_MS = 500;

function makeStage() {
  const views = new Set();
  let [engine, recorder, ahead] = [null, null, null];
  let heard = "";
  const tellAll = (text) => {
    heard = text;
    for (const view of views) view.update();
  };

  function initialize({ model }) {
    const tools = browserTools();
    const replan = (before, plan) => {
      if ([...views].some((view) => view.waits())) engine.stop(); // numbers that were called out start with their answer
      if (!soundsAlike(before, plan)) engine.replan(sameStrokes(before, plan));
    };
    ahead = makeAhead(model, () => views.forEach((view) => view.update()), replan);
    const source = {
      plan: () => recorder.plan(),
      voices: () => model.get("voices"),
      home: () => model.get("home"),
      setHome: (home) => put(model, "home", home),
      tell: tellAll,
      pumped: () => recorder.pumped(),
      stopping: () => recorder.stopping(),
      disturbed: (what) => recorder.disturbed(what),
      elsewhere: () => recorder.elsewhere(),
      seen: () => [...views].some((view) => view.el.getClientRects().length > 0),
    };
    const lanes = (model.get("plan") && model.get("plan").lanes) || [];
    engine = makeEngine(source, firstSettings(lanes.length, stored()), tools);
    const link = {
      plan: () => ahead.get("plan"),
      home: () => model.get("home"),
      send: (take) => model.send({ take }),
      tell: tellAll,
      told: () => heard,
      clear: () => put(model, "feedback", []),
    };
    recorder = makeRecorder(engine, link, stored(), tools);
    model.on("change:taken", () => model.get("taken").forEach((id) => recorder.acknowledged(id)));
    const again = setTimeout(() => recorder.sendAgain(), 3000);
    model.on("change:home", () => engine.homeMoved(model.get("home")));
    model.on("change:slowed", () => practiseAs(engine, model.get("slowed")));
    return () => {
      clearTimeout(again);
      ahead.end();
      engine.dispose();
    };
  }

  function render({ model: python, el }) {
    const model = ahead.over(python);
    el.classList.add("rl-stage");
    el.rlEngine = engine;
    const asleep = element("p", "rl-asleep", el, { role: "status" });
    const onWall = model.get("look") === "wall";
    const setBpm = (bpm, more = {}) => {
      model.set("slid", { bpm, home: model.get("home"), ...more, turn: (model.get("slid").turn || 0) + 1 });
      model.save_changes();
      ahead.look();
    };
    const picture = () => pictureOf(model.get("pictures"), model.get("home"));
    const slide = makeSlide(() => {
      const [low, high] = model.get("bpm_range");
      const bpm = picture() ? picture().bpm : 0;
      const slow = tempoSaid(engine.settings.slow / 100, bpm, onWall);
      return { bpm, low, high, of: picture() ? picture().home : "", slow };
    }, setBpm);
    const bar = makeSoundbar(engine, stored(), onWall);
    const guess = makeGuess(el, model, engine, bar.start);
    const nudge = onWall ? (by) => room.does[by < 0 ? "slower" : "faster"]() : null;
    const head = makeHead(el, { model, engine, bar, slide, hold: onWall ? () => () => {} : ahead.hold, nudge });
    const figure = element("div", "rl-picture", el, { tabindex: "0", role: "group", "aria-label": "picture" });
    const folds = element("div", "rl-folds");
    const plan = () => model.get("plan");
    const flipped = () => {
      const from = engine.playing() ? engine.now().next : model.get("home");
      engine.flip(nextHome(from, model.get("pictures").length));
    };
    const words = element("div", "rl-words", onWall ? el : null, { "aria-live": "polite" });
    const aside = onWall ? element("div", "rl-aside", el, { role: "group", "aria-label": "for the presenter" }) : null;
    const room = onWall ? makeRoom(aside, engine, { model, el, figure, folds, plan, picture, flip: flipped, setBpm, tell: tellAll }) : null;
    if (!onWall) el.append(folds, head.last, words);
    const drawer = makeDrawer(folds);
    const mix = makeMixer(drawer, engine, plan);
    const practise = makePractise(drawer, engine, { plan, picture, setBpm, tell: tellAll });
    const play = makePlay(drawer, engine, recorder, { plan, feedback: () => model.get("feedback") || [], model, store: stored(), tell: tellAll, el, setBpm });
    const walked = () => ({ plan: figure.firstChild ? plan() : null, home: model.get("home"), from: frameOf(figure.querySelector("svg"))?.start ?? 0, limbs: model.get("limbs"), leftHanded: model.get("left_handed") });
    const strokes = onWall ? null : makeStrokes(drawer, walked);
    const [save, shelf] = [makeSave(drawer, model, el), makeShelf(drawer, model)];
    const fitting = makeFitting(figure, () => ({ ...beatsOf(plan(), model.get("home")), narrow: picture()?.narrow }), () => view.update());
    const under = makeUnder(figure, model, plan);
    if (onWall) figure.after(bar.said);
    else folds.before(bar.said, head.later, head.tries); // what is now in a line that is there anyway, so that nothing moves
    const notice = element("p", "rl-notice", onWall ? null : el, { role: "status" });
    if (onWall) aside.prepend(notice);
    const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;
    const playhead = makePlayhead(figure, still);

    const update = () => {
      if (picture()) show(picture(), figure, words, room && room.advice);
      fitting.update();
      slide.label.hidden = !picture() || model.get("bpm_range").length < 2;
      if (!slide.label.hidden) slide.update();
      const silentPage = !plan()?.lanes;
      play.hide(onWall);
      bar.start.hidden = bar.volume.hidden = folds.hidden = silentPage;
      bar.update();
      for (const one of [guess, head, room, strokes, save, shelf]) if (one) one.update();
      mix();
      practise();
      play.update();
      under();
      const text = model.get("notice") || heard;
      putText(notice, text);
    };
    let frame = null;
    const move = () => {
      const now = engine.now();
      frame = now ? requestAnimationFrame(move) : null;
      if (!now || now.turn < 0 || now.silent || recorder.phase() === "calibrate") playhead.hide();
      else playhead.move(now.tick, now.slice, now.beats);
      const said = nowSaid(now, picture() ? picture().bpm : 0, Boolean(room), (picture() || {}).counted);
      bar.tell(...(room ? [...room.line(now, said), ...room.longest()] : [said || bar.rest()]));
    };
    const sounded = () => {
      update();
      if ((engine.playing() || room) && frame === null) move();
    };
    const soon = onceATask(sounded);
    const view = { el, update: soon, waits: () => Boolean(room && room.waits()) };
    views.add(view);
    engine.inherit();
    const unwatch = engine.watch(soon);
    const [unguard, unwatchPage] = [guard(el), watchPage()];
    const [unkey, unlook] = [soundKeys(el, engine, guess.covers), ahead.watch(el)];
    for (const name of WATCHED) model.on(`change:${name}`, soon);
    const rest = watch(model, (line) => (asleep.textContent = line));
    sounded();
    backToTop(el);
    return () => {
      for (const name of WATCHED) model.off(`change:${name}`, soon);
      views.delete(view);
      unwatch();
      play.close();
      for (const one of [guess, head, room, save, shelf, fitting]) if (one) one.close();
      if (frame !== null) cancelAnimationFrame(frame);
      for (const end of [unlook, unkey, unguard, unwatchPage, rest]) end();
      el.rlEngine = null;
      el.replaceChildren();
      if (views.size === 0) engine.release();
      setTimeout(() => letViewsGo(model.widget_manager), GONE_MS);
    };
  }
  return { initialize, render };
}

export default makeStage;
