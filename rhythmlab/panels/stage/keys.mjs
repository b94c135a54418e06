// Keys pressed in a panel stay in it: in a notebook a plain letter would insert, cut or delete cells.

/** The part of the page that belongs to a panel: its whole output, so that the controls beside us count. */
export function panelOf(el) {
  return (el.closest && el.closest(".jp-OutputArea-output")) || el;
}

/** Keep keys inside the panel round `el`, once it stands on the page. Returns how to stop. */
export function guard(el, later = (call) => requestAnimationFrame(call)) {
  let host = null;
  let over = false;
  let tries = 0;
  const stop = (event) => event.stopPropagation();
  const mark = (event) => {
    if (event.target.dataset) event.target.dataset.lmSuppressShortcuts = "true";
  };
  const settle = () => {
    if (over) return;
    if (!el.isConnected && tries++ < 120) return later(settle);
    host = panelOf(el);
    host.addEventListener("focusin", mark);
    host.addEventListener("keydown", stop);
  };
  settle();
  return () => {
    over = true;
    if (!host) return;
    host.removeEventListener("focusin", mark);
    host.removeEventListener("keydown", stop);
  };
}
