// A hand clap, made in the browser from the snare: its drum tone taken out, and three bursts close together.

/** Seconds from burst to burst, and how strong each is. */
const BURSTS = [[0, 0.8], [0.009, 0.6], [0.019, 1]];
/** How much of the sample before is taken off: what is left are the high parts of the noise. */
const TAKE_OFF = 0.93;

/** Samples of a clap from those of a snare, as loud at their loudest as the snare is. */
export function clapOf(snare, rate) {
  const bright = snare.map((x, i) => x - TAKE_OFF * (i > 0 ? snare[i - 1] : 0));
  const clap = new Float32Array(bright.length);
  for (const [seconds, strength] of BURSTS) {
    const from = Math.round(seconds * rate);
    for (let i = from; i < clap.length; i += 1) clap[i] += strength * bright[i - from];
  }
  const loudest = (samples) => samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
  const [was, is] = [loudest(snare), loudest(clap)];
  const fade = Math.min(clap.length, Math.round(0.005 * rate)); // ends at exactly nothing
  return clap.map((x, i) => (is ? (x * was) / is : 0) * Math.min(1, (clap.length - 1 - i) / fade));
}
