// The tempo slide: a native range, so arrow keys, Page keys and a name come with it.

/** A number held between two others. */
export function held(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

/** A tempo as it is written: no more decimals than two. */
export function written(bpm) {
  return String(Math.round(bpm * 100) / 100);
}

/** Build the slide; `moved` gets each new tempo, `read` says {bpm, low, high, of} of the moment. */
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
    const { bpm, low, high, of } = read();
    range.min = String(low);
    range.max = String(high);
    if (document.activeElement !== range || Math.abs(Number(range.value) - bpm) >= 1) {
      range.value = String(held(bpm, low, high));
    }
    name.textContent = `tempo ${written(bpm)} bpm of ${of}`;
    range.setAttribute("aria-label", `tempo in bpm of ${of}`);
    range.setAttribute("aria-valuetext", `${written(bpm)} bpm of ${of}`);
  };
  return { label, update };
}
