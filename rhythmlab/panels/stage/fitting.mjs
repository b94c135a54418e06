// What a figure shows fits its room: as it was made, or laid out anew where its letters would be too small to be read.
import { rowsLaid } from "./breaks.mjs";
import { given, LEAST_PX, marksOf } from "./marks.mjs";
import { element } from "./parts.mjs";
import { frameOf } from "./playhead.mjs";
import { notesIn, notesLaid, sizeOfNotes } from "./systems.mjs";

/** A room that letters larger than usual leave at least, in px of usual ones. */
const SMALLEST = 220;
/** A phone, or as good as one by zoom, as in stage.css. */
const PHONE = "(max-width: 600px), (max-height: 430px)";

/** The beats of a home, and the bars they are counted in. */
export function beatsOf(plan, home) {
  const { homes = [], bars = [] } = plan || {};
  return { beats: homes[home] || [], bars };
}

/** A picture of time as something to be fitted: its least letter and width in its own units, and how it is laid out. */
function heldOfTime(whole, frame, read) {
  const least = Math.min(LEAST_PX + 2, ...[...whole.querySelectorAll("text")].map((one) => given(one, "font-size")));
  let marks = null;
  const lay = (room, lengths) => {
    marks = marks || marksOf(whole, frame, lengths); // measured while it is still there to be seen
    if (marks.every(({ said, half }) => !said?.trim() || half > 0)) return rowsLaid(whole, frame, marks, read(), room);
    marks = null; // it is not seen, and the observer tells when it is
    return lengths.clear();
  };
  return { least, width: frame.width, lay, read };
}

/** Notes as something to be fitted. */
function heldNotes(whole) {
  const alt = whole.querySelector("[role=img]").getAttribute("aria-label");
  let notes = null;
  const lay = (room) => {
    notes = notes || notesIn(whole); // measured only where they do not fit, and while they are still there to be seen
    return notes && notesLaid(notes, room, alt);
  };
  const size = sizeOfNotes(whole);
  return size && { ...size, lay, read: () => null };
}

/** A picture that is no time, which Python drew for a phone too. */
function heldOfTwo(whole, narrow) {
  const lay = () => {
    const box = element("div", "rl-rows rl-narrow");
    box.innerHTML = narrow;
    return box;
  };
  return { least: LEAST_PX + 2, width: whole.viewBox.baseVal.width, lay, read: () => null };
}

/** Keep what a figure shows laid out for its room; `read` says {beats, bars} of home, and what is drawn for a phone, `resized` is called when the room changes. */
export function makeFitting(figure, read, resized) {
  let [whole, held, key, room, tall] = [null, null, "", 0, 0];
  const lengths = new Map();
  const measured = () => {
    const letters = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16 || 1; // the reader's own
    return figure.clientWidth && Math.max(figure.clientWidth / letters, Math.min(figure.clientWidth, SMALLEST));
  };
  const high = () => (figure.closest(":fullscreen") ? figure.clientHeight : 0);
  // told after each layout: to ask at every change would lay out the page once more; the card grows with the letters
  const watch = new ResizeObserver(() => {
    const [was, had] = [room, tall];
    [room, tall] = [measured(), high()];
    if (room === was && tall === had) return;
    lengths.clear();
    resized();
  });
  for (const one of [figure, figure.parentElement]) watch.observe(one);
  const update = () => {
    const fresh = figure.querySelector(":scope > :is(svg[role=img], figure)");
    if (fresh && fresh !== whole) [whole, key, held] = [fresh, "", null];
    room ||= measured();
    if (!whole || !room) return;
    const frame = frameOf(whole);
    const { narrow } = read();
    if (!held && frame) held = heldOfTime(whole, frame, read);
    else if (!held && whole === fresh) held = whole.matches("figure") ? heldNotes(whole) : narrow && heldOfTwo(whole, narrow);
    if (!held) return;
    const fits = (held.least * room) / held.width >= LEAST_PX;
    const now = fits ? `whole ${tall}` : JSON.stringify([room, tall, held.read()]);
    if (now === key) return;
    key = now;
    const phone = tall && matchMedia(PHONE).matches;
    if (fits) {
      // a low screen makes it smaller than its width would, but not too small to be read
      whole.style.minHeight = phone && frame ? `${(frame.height * LEAST_PX) / held.least}px` : "";
      return fresh === whole || figure.replaceChildren(whole);
    }
    const box = held.lay(room, lengths);
    if (!box) return (key = "");
    figure.replaceChildren(box);
    // a room sees the whole, and rows only where all of them fit its screen; on a phone's screen they scroll in their place
    if (tall && !phone && box.scrollHeight > tall + 1) figure.replaceChildren(whole);
  };
  return { update, close: () => watch.disconnect() };
}
