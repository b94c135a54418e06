// Playing along: what to play, with which keys, pads or drums; record a take, calibrate, and what is said of it.
import { bringIntoView, button, choice, element, putText } from "./parts.mjs";
import { canTap, give, keepKeys, keySaid, padOfKey, padOfNote, padRows, padsOf, storedKeys, struck } from "./taps.mjs";
import { leftOut, modesOf, offsetSaid, phaseSaid } from "./take.mjs";
import { panelOf } from "./keys.mjs";
import { put } from "./fields.mjs";
import { makeAnswer } from "./answer.mjs";
import { makeDock } from "./dock.mjs";
import { MOST_LANES } from "./bounds.mjs";

const LIMBS = ["hands", "hands swapped", "hand and foot", "voice and hand"].map((limbs) => [limbs, limbs]);
const CYCLES = [1, 2, 4, 8, 16].map((n) => [n, n === 1 ? "1 cycle" : `${n} cycles`]);

export function makePlay(drawer, engine, recorder, { plan, feedback, model, store, tell, el, setBpm }) {
  const { body, open, hide } = drawer.add("Play along");
  const chosen = { mine: 0, cycles: model.get("cycles") || 4 };
  const save = (name) => (value) => {
    put(model, name, value);
    update();
  };
  const answer = makeAnswer(body, engine, recorder, { model, plan, setBpm, calibrate: () => begin("calibrate"), take: (next) => {
    if (next.kind === "lane") chosen.mine = next.lanes[0];
    save("mode")(next.mode);
    take({ cycles: next.cycles || chosen.cycles });
  } });
  const first = element("div", "rl-line", body);
  const mode = choice("play", first, modesOf(plan()), save("mode"));
  const mine = choice("my pulse", first, [], (value) => (chosen.mine = Number(value)));
  const limbs = choice("with", first, LIMBS, save("limbs"));
  const cycles = choice("for", first, CYCLES, (value) => (chosen.cycles = Number(value)));
  cycles.select.value = String(chosen.cycles);
  const dock = makeDock(el, body);
  const second = element("div", "rl-line", dock.box);
  const begin = (what, more) => {
    pads.focus({ preventScroll: true });
    dock.ask();
    recorder[what](more);
  };
  const take = (more) =>
    begin("record", { ...chosen, mode: model.get("mode"), limbs: model.get("limbs"), leftHanded: model.get("left_handed"), ...more });
  const record = button("", second, () => take());
  record.classList.add("rl-record");
  const calibrate = button("", second, () => begin("calibrate"));
  const midi = button("Use a MIDI kit", second, () => openMidi());
  const said = element("span", "rl-phase", second, { "aria-hidden": "true" }); // it counts each stroke
  const spoken = element("span", "rl-spoken", second, { role: "status" });
  const pads = element("div", "rl-pads", dock.box, { tabindex: "0", role: "group", "aria-label": "pads" });
  const offset = element("p", "rl-offset", body);
  let [kept, drawn, waiting, hasMidi, played] = [storedKeys(store), "", -1, false, false];

  const keep = (more) => {
    kept = { ...kept, ...more };
    keepKeys(store, kept);
    waiting = -1;
    update();
  };
  const setKey = (place, key) => keep({ keys: give(kept.keys, place, key, (one, two) => one.code === two.code) });
  const setNote = (place, note) => keep({ notes: give(kept.notes, place, note, (one, two) => one === two) });
  const lanes = () => (plan()?.lanes || []).slice(0, MOST_LANES);
  const padded = () => padsOf(plan(), model.get("limbs"), model.get("left_handed"));
  const draw = () => {
    pads.replaceChildren();
    for (const row of padRows(padded())) {
      const line = element("div", "rl-padrow", pads);
      for (const pad of row) drawPad(pad, line);
    }
  };
  const drawPad = ({ said: name, of, key: place, rows }, line) => {
    const group = element("div", "rl-padded", line);
    const key = kept.keys[place].said + (hasMidi ? `, note ${kept.notes[place]}` : "");
    const plays = of.length ? `: ${of.join(", ")}` : "";
    const own = rows.length === 1 ? ` rl-lane${rows[0][0] % 4}` : "";
    const pad = element("button", `rl-pad${own}`, group, { type: "button", "aria-label": `pad of ${name}${plays}, key ${key}` });
    element("b", "", pad).textContent = name + plays;
    element("span", "", pad).textContent = key;
    pad.addEventListener("pointerdown", (event) => {
      if (recorder.tap(rows, event.timeStamp, "pads")) event.preventDefault();
    });
    button(waiting === place ? "press the new key, or strike the drum" : "change", group, () => {
      waiting = waiting === place ? -1 : place;
      update();
      pads.focus();
    }).setAttribute("aria-label", `change the key of ${name}`);
  };
  const update = () => {
    const names = lanes().map((lane, i) => [i, lane.said || lane.name]);
    const pair = (plan()?.pulses || []).length > 1;
    const look = JSON.stringify([names, padded(), kept, waiting, hasMidi]);
    if (look !== drawn) {
      drawn = look;
      mine.offer(names);
      draw();
    }
    mine.select.value = String(Math.min(chosen.mine, names.length - 1));
    mode.offer(modesOf(plan()));
    mine.name(pair ? "my pulse" : "my part");
    limbs.label.hidden = !pair; // any other cycle names its own limbs
    mode.select.value = model.get("mode");
    limbs.select.value = model.get("limbs");
    mine.label.hidden = model.get("mode") !== "one pulse";
    const phase = recorder.phase();
    record.textContent = phase === "take" ? "Stop the take" : "Record a take";
    calibrate.textContent = phase === "calibrate" ? "Stop" : "Calibrate: tap with 16 clicks";
    const more = leftOut(engine.settings);
    said.textContent = phaseSaid(phase, recorder.count(), more);
    const begun = { take: more ? `recording. ${more}` : "recording", calibrate: "calibrating" }[phase] || "";
    putText(spoken, begun);
    for (const [one, stops] of [[record, "take"], [calibrate, "calibrate"]]) one.classList.toggle("rl-stops", phase === stops);
    dock.follow(phase !== "idle");
    const lines = feedback();
    offset.textContent = lines.length && recorder.offset() === null ? "" : offsetSaid(recorder.offset(), plan()?.numbers !== false);
    if (phase !== "idle") played = true;
    if (!answer(lines)) return;
    open();
    if (played) bringIntoView(answer.box, answer.box); // not when a page is opened
  };
  const key = (event) => {
    if (event.target.closest("input[type=text], select, textarea")) return;
    if (waiting >= 0 && event.code === "Escape") {
      event.preventDefault(); // it has done its work
      waiting = -1;
      return update();
    }
    if (waiting >= 0 && event.target === pads && !canTap(event) && event.code !== "Tab") {
      return tell(`${keySaid(event)} keeps its own meaning: press another key, or Escape to leave it as it was.`);
    }
    if (!canTap(event)) return;
    if (waiting >= 0) {
      tell("");
      event.preventDefault();
      event.stopPropagation();
      if (!event.repeat) setKey(waiting, { code: event.code, said: keySaid(event) });
      return;
    }
    const pad = recorder.phase() === "idle" ? null : padOfKey(kept.keys, event.code, padded());
    if (!pad) return;
    event.preventDefault();
    event.stopPropagation();
    if (!event.repeat) recorder.tap(pad.rows, event.timeStamp, "keys");
  };
  let [access, host, closed] = [null, null, false];
  const message = (event) => {
    const note = struck(event.data);
    if (note === null) return;
    if (waiting >= 0) return setNote(waiting, note);
    const pad = padOfNote(kept.notes, note, padded(), lanes());
    if (pad) recorder.tap(pad.rows, event.timeStamp, "midi");
    else tell(`The kit sent note ${note}, which has no lane: press change beside a pad, then strike that drum.`);
  };
  const listen = () => {
    const inputs = [...access.inputs.values()];
    for (const input of inputs) input.onmidimessage = message;
    hasMidi = inputs.length > 0;
    tell(hasMidi ? "" : "No MIDI kit is plugged in: plug it in, and it is heard at once.");
    update();
  };
  async function openMidi() {
    if (recorder.midi) return; // another view of this panel has it
    if (!navigator.requestMIDIAccess) return tell("This browser has no MIDI: use keys or pads, or another browser.");
    try {
      access = await navigator.requestMIDIAccess();
    } catch (error) {
      return tell(`The browser refused MIDI (${error.message || error.name}): allow it for this page, or use keys or pads.`);
    }
    if (closed) return;
    recorder.midi = true;
    access.onstatechange = (event) => {
      if (event.port && event.port.state === "disconnected") {
        hasMidi = [...access.inputs.values()].some((input) => input.state !== "disconnected");
        tell(`The MIDI kit ${event.port.name || ""} was unplugged; what you had played is kept.`);
        update();
      } else listen();
    };
    listen();
  }
  const wait = requestAnimationFrame(() => requestAnimationFrame(() => {
    host = panelOf(el);
    host.addEventListener("keydown", key, true);
  }));
  const unwatch = recorder.watch(update);
  const close = () => {
    closed = true;
    cancelAnimationFrame(wait);
    if (host) host.removeEventListener("keydown", key, true);
    if (access) {
      recorder.midi = false;
      for (const input of access.inputs.values()) input.onmidimessage = null;
    }
    unwatch();
  };
  return { update, close, hide };
}
