// Small pictures of our own, drawn in lines so that they read in black and white. Every figure in them stands in words too.

import { svg } from "./markup.js";

const INK = "currentColor";

let pictures = 0;

function drawn(width, height, words, ...parts) {
  return svg("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words, class: "picture", fill: "none", stroke: INK,
    "stroke-linecap": "round", "stroke-linejoin": "round" }, parts);
}

const say = (x, y, text, anchor = "middle") => svg("text", { x, y, "text-anchor": anchor, "font-size": 11, fill: INK, stroke: "none" }, text);

export function glassOf(serve) {
  // A tapered glass filled to the wash line, its share of water from ice hatched; empty where the level is not known.
  const [top, foot, brim, base, middle] = [12, 128, 46, 32, 60];
  const level = serve.washline_percent === null ? null : Math.min(1, serve.washline_percent / 100);
  // The volume below a height grows with the cube of the radius there.
  const radius = (share) => Math.cbrt(base ** 3 + share * (brim ** 3 - base ** 3));
  const height = (share) => foot - ((radius(share) - base) / (brim - base)) * (foot - top);
  const parts = [];
  const body = (from, to, fill) => svg("path", { fill, stroke: "none",
    d: `M${middle - radius(to)} ${height(to)}H${middle + radius(to)}L${middle + radius(from)} ${height(from)}H${middle - radius(from)}Z` });
  if (level !== null) {
    const name = `hatch-${pictures += 1}`;
    const whole = (serve.liquid_ml || 0) + (serve.foam_ml || 0) + (serve.ice_displaced_ml || 0);
    const water = whole ? level * Math.min(1, (serve.water_added_ml || 0) / whole) : 0;
    parts.push(svg("defs", {}, svg("pattern", { id: name, width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      svg("path", { d: "M0 0V6", "stroke-width": 1 }))));
    parts.push(body(0, level - water, "var(--tint)"), body(level - water, level, `url(#${name})`));
    parts.push(svg("path", { d: `M${middle - radius(level) - 7} ${height(level)}H${middle + radius(level) + 7}`, "stroke-width": 2 }));
  }
  parts.push(svg("path", { d: `M${middle - brim} ${top}L${middle - base} ${foot}H${middle + base}L${middle + brim} ${top}`, "stroke-width": 1.8 }));
  const words = level === null ? "A glass; how full it is, is not known" : `A glass filled to ${serve.washline_percent} % of its brim`;
  return drawn(120, 138, words, parts);
}

export function scaleOf(strength, band) {
  // Strength on a ruler from 0, with the band as a bar around it.
  const end = Math.max(40, Math.ceil(Math.max(strength, band?.high ?? 0) / 20) * 20);
  const x = (percent) => 14 + (percent / end) * 252;
  const parts = [svg("path", { d: `M14 30H266`, "stroke-width": 1 })];
  for (let tick = 0; tick <= end; tick += end > 60 ? 20 : 10) {
    parts.push(svg("path", { d: `M${x(tick)} 26V34`, "stroke-width": 1 }), say(x(tick), 47, tick === end ? `${tick} %` : tick));
  }
  if (band) parts.push(svg("path", { d: `M${x(band.low)} 18H${x(band.high)}M${x(band.low)} 13V23M${x(band.high)} 13V23`, "stroke-width": 2 }));
  parts.push(svg("circle", { cx: x(strength), cy: 30, r: 5, fill: "var(--accent)", stroke: "none" }));
  return drawn(280, 52, `Strength of ${strength} % vol on a scale from 0 to ${end}${band ? `, between ${band.low} and ${band.high}` : ""}`, parts);
}

export function countOf(count, words) {
  // Standard drinks as small glasses, the last one in part.
  const whole = Math.min(8, Math.ceil(count));
  const parts = [];
  for (let place = 0; place < whole; place += 1) {
    const share = Math.max(0, Math.min(1, count - place));
    const x = place * 24 + 4;
    parts.push(svg("rect", { x, y: 4 + 24 * (1 - share), width: 16, height: 24 * share, fill: "var(--accent)", stroke: "none" }));
    parts.push(svg("rect", { x, y: 4, width: 16, height: 24, "stroke-width": 1.4 }));
  }
  return drawn(Math.max(1, whole) * 24, 32, words, parts);
}

export function barOf(share, words) {
  // A share of 0 to 100 as a bar.
  return drawn(100, 8, words, svg("rect", { x: 0.5, y: 0.5, width: 99, height: 7, "stroke-width": 0.6 }),
    svg("rect", { x: 0.5, y: 0.5, width: Math.max(0, Math.min(99, share * 0.99)), height: 7, fill: "var(--accent)", stroke: "none" }));
}
