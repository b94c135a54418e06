// Marks as SVG, as draw/svg.py paints them for a stage, for the two pictures that the browser draws by itself.

const ROW_PX = 40;
const PENS = { hair: ["hair", 1, 1], beat: ["beat", 1.6, 0.85], edge: ["beat", 2.4, 1], tie: ["beat", 2.4, 1], sound: ["ink", 3, 1], stem: ["quiet", 1, 0.8], thread: ["quiet", 1.2, 0.5] };
const HANDS = { big: ["ink", 18, 700], name: ["ink", 16, 700], plain: ["ink", 14, 400], small: ["quiet", 14, 400], fine: ["ink", 12, 400], "fine number": ["ink", 12, 400] };
const SIGNS = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#x27;" };

const asMarkup = (text) => text.replace(/[&<>"']/g, (sign) => SIGNS[sign]);
const px2 = (value) => value.toFixed(2);

/** The path of a stroke's shape. */
function outlineOf(lane, x, y, r) {
  const [f, at] = [px2, lane % 4];
  if (at === 0) return `M${f(x - r)} ${f(y)}a${f(r)} ${f(r)} 0 1 0 ${f(2 * r)} 0a${f(r)} ${f(r)} 0 1 0 ${f(-2 * r)} 0Z`;
  const s = r * [0, 1.22, 0.88, 1.2][at];
  if (at === 1) return `M${f(x)} ${f(y - s)}L${f(x + s)} ${f(y)}L${f(x)} ${f(y + s)}L${f(x - s)} ${f(y)}Z`;
  if (at === 2) return `M${f(x - s)} ${f(y - s)}H${f(x + s)}V${f(y + s)}H${f(x - s)}Z`;
  return `M${f(x)} ${f(y - s)}L${f(x + s)} ${f(y + 0.72 * s)}H${f(x - s)}Z`;
}

/** Begin a picture of `stop` ticks from 0; `most` strokes are in a lane. Its marks are [kind, ...], painted in order by `svg(marks, rows, alt)`. */
export function makePainter({ stop, left, right, width, most }) {
  const room = width - left - right;
  const x = (tick) => px2(left + (tick / stop) * room);
  const y = (row) => px2(row * ROW_PX);
  const radius = Math.max(2.5, Math.min(8, (0.36 * room) / most));
  const line = (a, top, b, bottom, role) => {
    const [ink, wide, clear] = PENS[role] || [role, 1.4, 0.75];
    return `<path d="M${x(a)} ${y(top)}L${x(b)} ${y(bottom)}" fill="none" style="stroke:var(--rl-${ink})" stroke-width="${wide}" stroke-opacity="${clear}"/>`;
  };
  const paint = {
    line,
    rule: (tick, top, bottom, role) => line(tick, top, tick, bottom, role),
    band: (top, bottom, role) => `<rect x="${x(0)}" y="${y(top)}" width="${px2(room)}" height="${y(bottom - top)}" style="fill:var(--rl-${role})"/>`,
    stroke: (tick, row, lane, ring, size = 1) => {
      const [at, high] = [left + (tick / stop) * room, row * ROW_PX];
      const round = ring ? `<circle cx="${px2(at)}" cy="${px2(high)}" r="${(radius + 5).toFixed(1)}" fill="none" style="stroke:var(--rl-ink)" stroke-width="1.6"/>` : "";
      return `${round}<path data-tick="${tick}" data-lane="${lane}" d="${outlineOf(lane, at, high, radius * size)}" style="fill:var(--rl-lane${lane % 4});stroke:var(--rl-paper)" stroke-width="0.8"/>`;
    },
    text: (tick, row, text, role, side = "", own = "") => {
      const [ink, size, weight] = HANDS[role];
      const at = { "": x(tick), from: px2(left + (tick / stop) * room + 16), left: px2(left - 14), right: px2(width - right + 10) }[side];
      const anchor = { "": "middle", left: "end" }[side] || "start";
      const [wide, tall] = [0.9 * size * text.length, 0.86 * size];
      const under = role === "fine number" ? `<rect x="${px2(at - wide / 2)}" y="${px2(row * ROW_PX - tall / 2)}" width="${px2(wide)}" height="${px2(tall)}" style="fill:var(--rl-paper)"/>` : "";
      return `${under}<text x="${at}" y="${y(row)}" dominant-baseline="central" text-anchor="${anchor}" font-size="${size}" font-weight="${weight}" style="fill:var(--rl-${own || ink})">${asMarkup(text)}</text>`;
    },
  };
  const svg = (marks, rows, alt) => {
    const high = Number((rows * ROW_PX).toPrecision(6));
    const frame = `viewBox="0 0 ${width} ${high}" width="100%" data-frame="0 ${stop} ${left} ${right} ${width} ${high}"`;
    const drawn = marks.map(([kind, ...mark]) => paint[kind](...mark)).join("");
    return `<svg role="img" aria-label="${asMarkup(alt)}" ${frame} font-family="DejaVu Sans, Verdana, sans-serif">${drawn}</svg>`;
  };
  return { svg, px: room / stop };
}
