// Two clocks: the page's (events, frames) and the sound card's (strokes). The map between them is the median of
// many readings of the one against the other, since single readings jitter.

const NEAR_S = 0.3;
const KEEP = 400;
const STALE_S = 1;

export function median(values) {
  if (!values.length) return NaN;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

/** A map from page time (ms, as event.timeStamp) to audio time (s) of a context. */
export function makeClockMap(context, pageNow = () => performance.now()) {
  let readings = [];
  /** Take a reading; call it now and then while the sound runs. */
  const read = () => {
    let stamp = null;
    try {
      stamp = context.getOutputTimestamp();
    } catch {
      return; // a browser that has no such clock: the latency that it reports must do
    }
    if (!stamp || !(stamp.performanceTime > 0) || !(stamp.contextTime > 0)) return;
    const page = stamp.performanceTime / 1000;
    if (page < pageNow() / 1000 - STALE_S) return; // from before the sound card rested
    const last = readings.at(-1);
    if (last && last.page === page) return;
    readings.push({ page, offset: stamp.contextTime - page });
    if (readings.length > KEEP) readings = readings.slice(-KEEP / 2);
  };
  /** The audio time that is heard at a page time. */
  const audioAt = (pageMs) => {
    const page = pageMs / 1000;
    let near = readings.filter((one) => Math.abs(one.page - page) <= NEAR_S);
    if (!near.length) near = readings.slice(-9);
    if (near.length) return page + median(near.map((one) => one.offset));
    const delay = context.outputLatency || context.baseLatency || 0;
    return context.currentTime - delay + (pageMs - pageNow()) / 1000;
  };
  return { read, audioAt, exact: () => readings.length > 0, clear: () => (readings = []) };
}
