// The picture as it is seen, with the take under it, as one SVG by itself: in the colours of paper, nothing moving.

const PAINT = ["fill", "fill-opacity", "stroke", "stroke-width", "stroke-opacity", "stroke-dasharray", "opacity", "font-size", "font-weight", "font-family", "text-anchor", "dominant-baseline"];
/** Dots of a copied picture for one px, and most px of a side. */
const [DOTS, MOST] = [2, 4000];
const MOVING = ".rl-playhead, .rl-loop";

/** What is seen of a stage, in order: the drawings of its picture, and of the take under it. */
function drawings(el) {
  const all = [...el.querySelectorAll(".rl-picture svg")].filter((one) => !one.parentElement.closest("svg"));
  return all.filter((one) => one.getClientRects().length > 0);
}

function plain(from, to) {
  const seen = getComputedStyle(from);
  for (const name of PAINT) if (seen.getPropertyValue(name)) to.setAttribute(name, seen.getPropertyValue(name));
  if (seen.display === "none" || seen.visibility === "hidden") to.setAttribute("display", "none");
  for (const name of ["style", "class", "tabindex"]) to.removeAttribute(name);
}

/** The SVG text of what is seen: {svg, width, height, alt}, or null where there is no picture. */
function standalone(el, title) {
  const shown = drawings(el);
  if (shown.length === 0) return null;
  const places = shown.map((one) => one.getBoundingClientRect());
  const [left, top] = ["left", "top"].map((side) => Math.min(...places.map((one) => one[side])));
  const width = Math.ceil(Math.max(...places.map((one) => one.right)) - left);
  const NS = shown[0].namespaceURI;
  const whole = document.createElementNS(NS, "svg");
  const add = (name, text) => (whole.appendChild(document.createElementNS(NS, name)).textContent = text);
  const under = el.querySelector(".rl-under-take:not([hidden]) span");
  const alts = new Set(shown.map((one) => one.closest("[role=img]")?.getAttribute("aria-label"))); // rows have one together
  const alt = [...alts, under && under.textContent].filter(Boolean).join(" ");
  add("title", title || alt);
  add("desc", alt);
  const paper = whole.appendChild(document.createElementNS(NS, "rect"));
  const [host, kept] = [el.closest(".rl-wall") || el, document.createElement("div")];
  host.append(kept);
  let [height, end] = [0, null];
  shown.forEach((one, i) => {
    const { width: wide, height: high, bottom } = places[i];
    height += end === null ? 0 : Math.min(12, Math.max(0, places[i].top - end));
    kept.className = `rl-on-paper ${one.closest("div").className}`; // the rules of its place hold for the copy too
    const [own, copy] = [kept.appendChild(one.cloneNode(true)), one.cloneNode(true)];
    for (const each of [own, copy]) each.querySelectorAll(MOVING).forEach((gone) => gone.remove());
    own.querySelectorAll(".rl-passing").forEach((mark) => mark.classList.remove("rl-passing"));
    const [from, to] = [own, copy].map((each) => [each, ...each.querySelectorAll("*")]);
    to.forEach((each, k) => plain(from[k], each));
    for (const name of ["role", "aria-label", "aria-hidden", "data-frame"]) copy.removeAttribute(name);
    for (const [name, value] of Object.entries({ x: places[i].left - left, y: height, width: wide, height: high })) copy.setAttribute(name, value.toFixed(2));
    whole.append(copy);
    [height, end] = [height + high, bottom];
  });
  kept.remove();
  height = Math.ceil(height);
  const size = { width, height, viewBox: `0 0 ${width} ${height}`, role: "img" };
  for (const [name, value] of Object.entries(size)) whole.setAttribute(name, value);
  for (const [name, value] of Object.entries({ width, height, fill: "#ffffff" })) paper.setAttribute(name, value);
  return { svg: new XMLSerializer().serializeToString(whole), width, height, alt };
}

async function asPng({ svg, width, height }) {
  const image = new Image();
  const address = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  try {
    image.src = address;
    await image.decode();
    const dots = Math.min(DOTS, MOST / width, MOST / height);
    const canvas = Object.assign(document.createElement("canvas"), { width: Math.round(width * dots), height: Math.round(height * dots) });
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    return await new Promise((done, no) => canvas.toBlob((blob) => (blob ? done(blob) : no(new Error("no picture"))), "image/png"));
  } finally {
    URL.revokeObjectURL(address);
  }
}

/** Copy the picture of a stage, as PNG and with its text alternative; returns the sentence that tells how it went. */
export async function copyPicture(el, title) {
  const made = standalone(el, title);
  if (!made) return "Not copied: no picture is shown here.";
  if (!globalThis.ClipboardItem || !navigator.clipboard || !navigator.clipboard.write) {
    return "Not copied: this browser lets a page copy pictures only from https or from this computer; save it as PNG.";
  }
  try {
    const text = new Blob([title ? `${title}: ` : "", made.alt], { type: "text/plain" });
    await navigator.clipboard.write([new ClipboardItem({ "image/png": asPng(made), "text/plain": text })]);
    return "Copied: paste it where pictures go; where only words go, its description is pasted.";
  } catch {
    return "Not copied: this browser does not let the page copy now; allow it in the browser, or save it as PNG.";
  }
}
