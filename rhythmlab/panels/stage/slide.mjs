// The tempo slide: a native range, so arrow keys, Page keys and a name come with it.

/** A number held between two others. */
export function held(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

/** A tempo as it is written: no more decimals than two, and where it is very slow as many as show it. */
export function written(bpm) {
  if (bpm > 0 && bpm < 0.001) return "under 0.001";
  const more = bpm > 0 && bpm < 0.1 ? 10_000 : 100;
  return String(Math.round(bpm * more) / more);
}

/** About the speed of Slow in percent, and bpm a press of + or - on a wall. */
export const SLOWED = 60;
export const STEP = 4;

/** The speed of Slow in percent at a tempo of home: the whole tempo nearest to so many percent of it. */
export function slowed(bpm) {
  const whole = Math.round((bpm * SLOWED) / 100);
  return whole > 0 && whole < bpm ? (100 * whole) / bpm : SLOWED; // at 1 bpm no whole tempo is slower
}

/** The tempo of home that was last asked for: on its way to Python, or what Python has answered. */
export function askedBpm(slid, plan, home, shown) {
  const open = slid && slid.turn > (plan && plan.turn || 0);
  if (!open) return shown;
  if (!plan.pulses) return slid.bpm; // a groove has one home
  return (slid.bpm * plan.pulses[home]) / plan.pulses[slid.home];
}

/** Build the slide; `moved` gets each new tempo, `read` says {bpm, low, high, of} of the moment, and at which tempo it sounds where slowed. */
export function makeSlide(read, moved) {
  const label = document.createElement("label");
  label.className = "rl-slide";
  const name = document.createElement("span");
  const range = document.createElement("input");
  range.type = "range";
  range.step = "1";
  label.append(name, range);
  range.addEventListener("input", () => moved(Number(range.value)));
  const update = () => {
    const { bpm, low, high, of, slow = "" } = read();
    range.min = String(low);
    range.max = String(high);
    if (document.activeElement !== range || Math.abs(Number(range.value) - bpm) >= 1) {
      range.value = String(held(bpm, low, high));
    }
    name.textContent = `tempo ${written(bpm)} bpm of ${of}${slow}`;
    range.setAttribute("aria-valuetext", `${written(bpm)} bpm of ${of}${slow}`);
  };
  return { label, update };
}
