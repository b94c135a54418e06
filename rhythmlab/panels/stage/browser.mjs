// What the browser lends: a sound card, timers, storage, and the keys that start and stop.
import { escaped, panelOf } from "./keys.mjs";

const BEGINS = "rhythmlab-sounding";
/** The moment of the page's own clock, in ms since 1970 and finer: the same for all tabs and windows. */
const moment = () => performance.timeOrigin + performance.now();
const HAS_OWN_SPACE = "input:not([type=range]), select, textarea, button, summary, a, [contenteditable], [role=textbox]";

/** Storage, where the browser lends one. */
export function stored() {
  try {
    return window.localStorage;
  } catch {
    const nothing = () => {
      throw new Error("this browser keeps nothing");
    };
    return { length: 0, getItem: () => null, setItem: nothing, removeItem: () => {}, key: () => null };
  }
}

/** Whether Space in this place already does something of its own. */
function usesSpace(target) {
  return Boolean(target?.closest?.(HAS_OWN_SPACE));
}

/** A channel to the other tabs and windows of this address, or null where the browser has none. */
function channel() {
  try {
    return new BroadcastChannel(BEGINS);
  } catch {
    return null;
  }
}

/** What the browser lends to one model. */
export function browserTools() {
  const me = {};
  return {
    place: globalThis,
    makeContext: (sampleRate) => {
      const Context = globalThis.AudioContext || globalThis.webkitAudioContext;
      if (!Context) throw new Error("This browser has no sound of its own (Web Audio): use another one to hear the page.");
      return new Context({ sampleRate, latencyHint: "interactive" });
    },
    every: (ms, call) => {
      const timer = setInterval(call, ms);
      return () => clearInterval(timer);
    },
    /** Whether this is the first of a page's stages to ask within ten seconds. */
    first: (name) => {
      const [now, last] = [performance.now(), window[`rhythmlab-${name}`] ?? -Infinity];
      window[`rhythmlab-${name}`] = now;
      return now - last > 10_000;
    },
    later: (ms, call) => {
      const timer = setTimeout(call, ms);
      return () => clearTimeout(timer);
    },
    hidden: () => document.hidden,
    /** Whether something in the page was pressed, after which a browser lets it sound. */
    pressed: () => Boolean(navigator.userActivation?.hasBeenActive),
    pageNow: () => performance.now(),
    date: () => new Date(),
    /** Call when the tab is hidden or shown: timers may come seldom from now on. */
    whenHidden: (call) => {
      document.addEventListener("visibilitychange", call);
      return () => document.removeEventListener("visibilitychange", call);
    },
    /** One stage sounds at a time: the others of this page stop. */
    sounding: () => window.dispatchEvent(new CustomEvent(BEGINS, { detail: me })),
    /** Call `stop` when the page is left or another stage of it begins to sound. */
    whenLeft: (stop) => {
      const other = (event) => event.detail !== me && stop();
      const left = () => stop();
      window.addEventListener("pagehide", left);
      window.addEventListener(BEGINS, other);
      return () => {
        window.removeEventListener("pagehide", left);
        window.removeEventListener(BEGINS, other);
      };
    },
    /** Tell other tabs and windows that Start was pressed here; call `stop` when it is pressed later in one of them. */
    whenElsewhere: (stop) => {
      const others = channel();
      if (!others) return () => {};
      const mine = moment();
      others.onmessage = ({ data }) => {
        if (data && data.pressed > mine) stop();
      };
      others.postMessage({ pressed: mine });
      return () => others.close();
    },
  };
}

/** The whole panel on the whole screen, and back. */
export function fillScreen(el, figure) {
  if (document.fullscreenElement) return document.exitFullscreen();
  figure.focus(); // so that Space starts the sound, and does not leave the full screen again
  return (el.closest(".rl-wall") || el).requestFullscreen();
}

/** Space in the panel starts and stops, unless it `covers` its sound; Escape stops from anywhere on the page. Returns how to let go. */
export function soundKeys(el, engine, covers = () => false) {
  let host = null;
  const space = (event) => {
    if (event.code !== "Space" || event.repeat || event.defaultPrevented || covers() || usesSpace(event.target)) return;
    event.preventDefault();
    engine.toggle();
  };
  const filled = (event) => {
    const outside = document.fullscreenElement && document.fullscreenElement.contains(el) && !host.contains(event.target);
    if (outside) space(event);
  };
  const escape = (event) => {
    if (event.key !== "Escape" || !engine.playing()) return;
    engine.stop();
    escaped(event.timeStamp);
  };
  const settle = () => {
    host = panelOf(el);
    host.addEventListener("keydown", space, true); // before the fields, which keep their keys to themselves
  };
  const wait = requestAnimationFrame(() => requestAnimationFrame(settle));
  document.addEventListener("keydown", escape, true);
  document.addEventListener("keydown", filled);
  return () => {
    cancelAnimationFrame(wait);
    if (host) host.removeEventListener("keydown", space, true);
    document.removeEventListener("keydown", escape, true);
    document.removeEventListener("keydown", filled);
  };
}
