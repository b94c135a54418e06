// One stroke of a voice, worked out from its one sample as the sound files do it (audio/struck.py), number by number:
// how hard it is struck, and which of its variants it is. Harder is louder and brighter.

/** How strong an accent, any other stroke and a ghost stroke are, and the first of the beats. */
export const STRENGTH = { accent: 1.3, plain: 0.45, ghost: 0.135, first: 1.4 * 0.45 };
/** Of each variant: a factor of its strength, and of the frequency up to which it is bright. */
const VARIANTS = [[1, 1], [0.97, 0.8], [0.945, 0.64]];
const BRIGHT = 8;
const DULLING = 1.6;
const STRENGTH_SECONDS = 0.1;
/** A stroke ends the one before it on its row, within so many seconds or as long as they are apart. */
export const DAMPED_S = 0.002;

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

/** The root of the energy of the first samples, and of the steps between them. */
function rootsOf(samples, many) {
  let [energy, steps] = [samples[0] ** 2, 0];
  for (let i = 1; i < many; i += 1) {
    energy += samples[i] * samples[i];
    steps += (samples[i] - samples[i - 1]) ** 2;
  }
  return [Math.sqrt(energy), Math.sqrt(steps)];
}

/** The samples of one stroke of a voice. */
export function strokeOf(voice, rate, strength, variant) {
  const many = voice.length;
  const heard = Math.min(many, Math.floor(rate * STRENGTH_SECONDS));
  const [all, steps] = rootsOf(voice, many);
  if (!all) return Float32Array.from(voice);
  const [gain, bright] = VARIANTS[variant];
  const pole = 1 - Math.exp((-steps / all) * BRIGHT * bright * (Math.max(strength, 0.01) / STRENGTH.accent) ** DULLING);
  const dull = new Float64Array(many);
  let [once, twice] = [0, 0]; // smoothed, and smoothed again: each a share of the way to what comes
  for (let i = 0; i < many; i += 1) {
    once += pole * (voice[i] - once);
    twice += pole * (once - twice);
    dull[i] = twice * Math.min((many - 1 - i) / (0.1 * many), 1);
  }
  const level = strength * gain * (rootsOf(voice, heard)[0] / rootsOf(dull, heard)[0]);
  return Float32Array.from(dull, (x) => x * level);
}
