// One stroke of a voice, worked out from its one sample as the sound files do it (audio/struck.py), number by number:
// how hard it is struck, and which of its variants it is. Harder is louder and brighter.

/** How strong an accent, any other stroke and a ghost stroke are, and the first of the beats. */
export const STRENGTH = { accent: 1.3, plain: 0.46, ghost: 0.15, first: 1.4 * 0.46 };
/** Of each variant: a factor of its strength, and of the frequency up to which it is bright. */
const VARIANTS = [[1, 1], [0.97, 0.8], [0.945, 0.64]];
const BRIGHT = 8;
const DULLING = 1.6;
const STRENGTH_SECONDS = 0.1;
/** A stroke ends the one before it on its row, within so many seconds or as long as they are apart. */
export const DAMPED_S = 0.004;

/** Whether the number of a stroke has, in binary, an odd count of ones beside ones. */
function odd(n) {
  let ones = n & (n >>> 1);
  for (const half of [16, 8, 4, 2, 1]) ones ^= ones >>> half;
  return ones & 1;
}

/** The variant of each stroke of a row that comes round: no two neighbours have the same, and there is no pattern. */
export function variantsOf(count) {
  const made = [];
  for (let i = 0; i < count; i += 1) made.push(i === 0 ? 0 : (made[i - 1] + 1 + odd(i)) % 3);
  if (count > 2 && made[count - 1] === 0) made[count - 1] = 3 - made[count - 2];
  return made;
}

/** Samples of which each is a share `pole` of the way from the last one made to the one given. */
function smoothed(samples, pole) {
  let last = 0;
  return samples.map((one) => (last += pole * (one - last)));
}

const energy = (samples) => samples.reduce((sum, one) => sum + one * one, 0);

/** The samples of one stroke of a voice. */
export function strokeOf(voice, rate, strength, variant) {
  const one = Float64Array.from(voice);
  if (!energy(one)) return Float32Array.from(voice);
  const [gain, bright] = VARIANTS[variant];
  const steps = one.subarray(1).map((x, i) => x - one[i]);
  const middle = Math.sqrt(energy(steps) / energy(one));
  const pole = 1 - Math.exp(-middle * BRIGHT * bright * (Math.max(strength, 0.01) / STRENGTH.accent) ** DULLING);
  const many = one.length;
  const dull = smoothed(smoothed(one, pole), pole).map((x, i) => x * Math.min((many - 1 - i) / (0.1 * many), 1));
  const heard = Math.floor(rate * STRENGTH_SECONDS);
  const level = Math.sqrt(energy(one.subarray(0, heard)) / energy(dull.subarray(0, heard)));
  return Float32Array.from(dull, (x) => x * (strength * gain * level));
}
