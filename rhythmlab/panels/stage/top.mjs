// Run All leaves the reader at the top: a notebook goes to its last cell before any of them has run, and we bring it back.

/** The cell that a notebook went to by Run All: its last one, chosen, while ours comes before it. Else null. */
function ranAll(el) {
  const [cell, notebook] = [el.closest(".jp-Cell"), el.closest(".jp-Notebook")];
  if (!cell || !notebook) return null;
  const cells = [...notebook.querySelectorAll(".jp-Cell")];
  const last = cells.at(-1);
  return last !== cell && last.classList.contains("jp-mod-active") ? { first: cells[0], last } : null;
}

/** Go back to the top of the page where it was run to its end, and the reader has not gone elsewhere since. */
export function backToTop(el, later = (call) => requestAnimationFrame(call)) {
  let tries = 0;
  const look = () => {
    if (!el.isConnected && tries++ < 120) return later(look);
    const [found, outer] = [ranAll(el), el.closest(".jp-WindowedPanel-outer")];
    if (!found || !outer) return;
    const [top, seen] = [outer.getBoundingClientRect(), found.last.getBoundingClientRect()];
    if (seen.top > top.bottom || seen.bottom < top.top || el.getBoundingClientRect().bottom > seen.top) return;
    found.first.focus({ preventScroll: true }); // which makes it the chosen one
    outer.scrollTop = 0;
  };
  look();
}
