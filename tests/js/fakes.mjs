// A sound card and a clock that a test moves by hand.

export function fakeContext(rate = 48000) {
  const param = (value = 0) => ({
    value,
    setTargetAtTime(target) { this.value = target; },
    setValueAtTime(target) { this.value = target; },
    linearRampToValueAtTime(target) { this.value = target; },
    cancelScheduledValues() {},
  });
  const node = (more = {}) => ({ connect: (next) => next, disconnect() {}, ...more });
  const context = {
    currentTime: 0,
    state: "running",
    sampleRate: rate,
    started: [],
    destination: node(),
    createGain: () => node({ gain: param(1) }),
    createWaveShaper: () => node(),
    createStereoPanner: () => node({ pan: param(0) }),
    createBuffer: (channels, length) => ({ length, copyToChannel(samples) { this.samples = samples; } }),
    createBufferSource: () => {
      const source = node({
        stopped: false,
        start: (when) => context.started.push({ when, source }),
        stop: (when) => { if (when === undefined || when < source.when) source.stopped = true; },
      });
      return source;
    },
    resume: async () => { if (context.rested) context.state = "running"; },
    suspend: async () => { [context.state, context.rested] = ["suspended", true]; },
    close: async () => { context.state = "closed"; },
    getOutputTimestamp: () => ({ contextTime: context.currentTime, performanceTime: context.currentTime * 1000 + 1 }),
  };
  return context;
}

/** Numbers from 0 to 1 that look drawn at random, and are the same every time (Park and Miller 1988, from memory). */
export function drawn(seed) {
  let state = seed;
  return () => (state = (state * 48271) % 2147483647) / 2147483647;
}

/**
 * An engine on a fake sound card: `run(seconds)` lets time pass, `strokes` are those that were laid and kept.
 * The page's clock is `more.aheadMs` ahead of the sound card's.
 */
export function fakeEngine(makeEngine, firstSettings, plan, more = {}) {
  const context = fakeContext();
  let pump = null;
  let hide = null;
  let laid = [];
  const told = [];
  const state = { home: more.home ?? plan.homes.length - 1, plan, seen: true, hidden: false };
  const voices = Object.fromEntries(
    ["a", "b", "bass drum", "click", "grid tick"].map((name) => [name, new DataView(Int16Array.from({ length: 40 }, (_, i) => 9000 * Math.sin(i / 3)).buffer)]),
  );
  const source = {
    plan: () => state.plan,
    voices: () => voices,
    home: () => state.home,
    setHome: (home) => (state.home = home),
    tell: (text) => told.push(text),
    seen: () => state.seen,
    scheduled: (stroke) => laid.push({ ...stroke, source: engine.context().started.at(-1).source }),
  };
  const waiting = [];
  const tools = {
    place: more.place || {},
    makeContext: more.makeContext || (() => context),
    later: (ms, call) => {
      const one = { ms, call };
      waiting.push(one);
      return () => waiting.includes(one) && waiting.splice(waiting.indexOf(one), 1);
    },
    every: (ms, call) => {
      pump = call;
      return () => (pump = null);
    },
    hidden: () => state.hidden,
    pressed: () => Boolean(more.pressed),
    pageNow: () => context.currentTime * 1000 + (more.aheadMs || 0),
    sounding: () => {},
    whenHidden: (call) => {
      hide = call;
      return () => {};
    },
    whenLeft: () => () => {},
    whenElsewhere: () => () => {},
  };
  const settings = firstSettings(plan.lanes.length, { getItem: () => null });
  Object.assign(settings, more.settings);
  const engine = makeEngine(source, settings, tools);
  const run = (seconds, step = 0.025) => {
    const end = context.currentTime + seconds;
    while (context.currentTime < end - 1e-9) {
      context.currentTime = Math.min(end, context.currentTime + step);
      if (pump) pump();
    }
  };
  /** Strokes kept, of a kind: those taken back again are left out. */
  const strokes = (kind) => laid.filter((one) => !one.source.stopped && (!kind || one.kind === kind));
  /** Let the timers go off that were set, up to so many ms. */
  const pass = (ms) => waiting.filter((one) => one.ms <= ms).forEach((one) => {
    waiting.splice(waiting.indexOf(one), 1);
    one.call();
  });
  return { engine, run, strokes, told, state, context, settings, source, pass, hide: () => hide() };
}

export const SEVEN_FOUR = {
  ticks: 28,
  lanes: [
    { name: "7", sound: "a", onsets: [0, 4, 8, 12, 16, 20, 24], accents: [], ghosts: [] },
    { name: "4", sound: "b", onsets: [0, 7, 14, 21], accents: [], ghosts: [] },
  ],
  homes: [
    [0, 4, 8, 12, 16, 20, 24],
    [0, 7, 14, 21],
  ],
  bpms: [126, 72],
  cycle_s: 10 / 3,
  loops: [],
  rate: 48000,
  turn: 0,
};
