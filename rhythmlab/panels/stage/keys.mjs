// Keys pressed in a panel stay in it: in a notebook a plain letter would insert, cut or delete cells.
// A notebook hears keys at the document, on their way up or (before 4.2) down, and passes over those whose own target
// asks for it. So the window marks the target of each key in a panel, and none leaves its output; and a click on a
// plain spot of a panel, which would leave the focus on the cell, puts it on the panel.

const OUTPUT = ".jp-OutputArea-output";
/** What shows that an output is ours: a panel, a field or a picture of this package. */
const OURS = ".rl-stage, .rl-theme, .rl-kept, svg [data-tick]";
const TYPED_IN = "input:not([type=range], [type=checkbox], [type=radio]), select, textarea, [contenteditable]";
const WATCH = "rhythmlab-keys";
/** Escape pressed again so soon after it stopped the sound does not lead out of the panel, in ms. */
const AGAIN_MS = 1500;

/** The part of the page that belongs to a panel: its whole output, so that the controls beside us count. */
export function panelOf(el) {
  return el.closest?.(OUTPUT) || el;
}

/** The output of ours round a place on the page, or null; of two, the inner one. */
export function oursRound(place) {
  const next = (from) => from?.closest?.(OUTPUT);
  for (let output = next(place); output; output = next(output.parentElement)) {
    if (output.querySelector(OURS)) return output;
  }
  return null;
}

/** Whether a key may go on to the notebook: only those that save, search, print, copy, and run the cell. */
export function passes(event, filled = false) {
  if (event.altKey) return false;
  const { key = "", code = "", target } = event;
  const held = event.ctrlKey || event.metaKey;
  if (key === "Enter") {
    const plain = !target?.closest?.(TYPED_IN);
    return !filled && plain && Boolean(held || event.shiftKey);
  }
  const letter = /^[a-z]$/i.test(key) ? key.toLowerCase() : code.replace("Key", "").toLowerCase();
  return Boolean(held) && ["s", "f", "g", "p", "c"].includes(letter);
}

/** Have the notebook pass over keys of this target, or hear them. */
function mark(target, kept, host) {
  if (!target || !target.dataset) return;
  if (kept) target.dataset.lmSuppressShortcuts = "true";
  else for (let at = target; at && at !== host.parentElement; at = at.parentElement) delete at.dataset?.lmSuppressShortcuts;
}

/** Escape has just stopped the sound. */
export function escaped(pageMs) {
  globalThis[`${WATCH}-escaped`] = pageMs;
}

/** Keep keys and the notebook's own clicks inside an output. Returns how to stop. */
function keepIn(host) {
  const stop = (event) => {
    if (passes(event, Boolean(globalThis.document?.fullscreenElement))) return;
    event.stopPropagation();
    const again = event.timeStamp - globalThis[`${WATCH}-escaped`] < AGAIN_MS;
    if (event.key !== "Escape" || event.defaultPrevented || event.repeat || again) return;
    const cell = host.closest?.(".jp-Cell");
    if (cell && !document.fullscreenElement) cell.focus({ preventScroll: true }); // out of the panel, by hand
  };
  const focused = (event) => mark(event.target, true, host);
  // with Shift the notebook would choose all cells as far as this one, and with the other button this one
  const pressed = (event) => (event.shiftKey || event.button > 0) && event.stopPropagation();
  // a long press on what is typed in opens the browser's own menu, and not the notebook's
  const menu = (event) => event.target.closest(TYPED_IN) && event.stopPropagation();
  const heard = { focusin: focused, keydown: stop, mousedown: pressed, contextmenu: menu };
  for (const [kind, call] of Object.entries(heard)) host.addEventListener(kind, call);
  host.rlKept = (host.rlKept || 0) + 1;
  return () => {
    for (const [kind, call] of Object.entries(heard)) host.removeEventListener(kind, call);
    host.rlKept -= 1;
  };
}

/** Where the focus goes after a click on a plain spot: the wall, which may fill the screen, or the whole output. */
function restOf(host, target) {
  const wall = target.closest(".rl-wall");
  return wall && host.contains(wall) ? wall : host;
}

/** Watch the keys and the clicks of the whole page, once, however many panels ask. Returns how to stop. */
export function watchPage(page = globalThis) {
  const shared = (page[WATCH] ??= { panels: 0, stop: () => {} });
  shared.panels += 1;
  if (shared.panels === 1) shared.stop = listenTo(page);
  let over = false;
  return () => {
    if (over) return;
    over = true;
    shared.panels -= 1;
    if (shared.panels === 0) shared.stop();
  };
}

function listenTo(page) {
  let rest = null;
  const key = (event) => {
    const host = oursRound(event.target);
    const on = passes(event, Boolean(page.document.fullscreenElement));
    if (on || ["Escape", "Tab"].includes(event.key)) rest = null; // keys that lead out, and what they focus keeps it
    if (host) mark(event.target, !on, host);
  };
  const press = (event) => {
    const host = oursRound(event.target);
    rest = host && restOf(host, event.target);
    if (!rest) return leave(event.target);
    if (!host.rlKept) keepIn(host);
    if (!rest.hasAttribute("tabindex")) rest.setAttribute("tabindex", "-1");
    rest.classList.add("rl-rest");
  };
  /** A click beside a panel on its cell leaves the panel, also where the notebook would leave the focus inside. */
  const leave = (target) => {
    const now = page.document.activeElement;
    const cell = target.closest?.(".jp-Cell");
    if (cell && now && cell.contains(now) && oursRound(now)) now.blur();
  };
  /** After the notebook had its turn: where it took the focus to the cell, or none was left, it comes back. */
  const back = () => {
    const now = page.document.activeElement;
    if (!rest || !rest.isConnected || rest.contains(now)) return;
    if (!now || now.contains(rest)) rest.focus({ preventScroll: true });
  };
  /** What has the focus in an output of ours has a line round it: a stylesheet that asked what is in an output would cost 5 ms at every change. */
  const ringed = ({ target }) => oursRound(target)?.classList?.add("rl-kept");
  /** The notebook may take the focus to the cell long after the press, once the cell is ready: it goes back too. */
  const taken = ({ target, relatedTarget: before }) => {
    if (!rest || !rest.isConnected || rest.contains(target) || !target.contains || !target.contains(rest)) return;
    (before && rest.contains(before) ? before : rest).focus({ preventScroll: true });
  };
  // a pad keeps the press to itself, so that no mousedown follows
  const heard = [["keydown", key, true], ["pointerdown", press, true], ["mousedown", press, true], ["mousedown", back, false], ["click", back, false], ["focusin", taken, false], ["focusin", ringed, true]];
  for (const [kind, call, early] of heard) page.addEventListener(kind, call, early);
  return () => {
    for (const [kind, call, early] of heard) page.removeEventListener(kind, call, early);
  };
}

/** Keep keys inside the panel round `el`, once it stands on the page. Returns how to stop. */
export function guard(el, later = (call) => requestAnimationFrame(call)) {
  let leave = () => {};
  let over = false;
  let tries = 0;
  const settle = () => {
    if (over) return;
    if (!el.isConnected && tries++ < 120) return later(settle);
    leave = keepIn(panelOf(el));
  };
  settle();
  return () => {
    over = true;
    leave();
    leave = () => {};
  };
}
