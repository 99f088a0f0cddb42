// The drink as it is being written: its state, what is undone, its link, and what is asked of the service.

import { parsed } from "./paper.js";

const LINE = ["residue_ml", "alternatives", "charge"];
const SHARED = ["parts_total", "measured"];
const MOST_UNDONE = 200;

export const blank = () => ({
  id: "", name: "", serves: "1", method: "shaken", glass: "", ice: "", water: "", place: "", lines: [newLine()], rest: {},
});

export const newLine = (text = "") => ({ text, item: "", label: "", given: null });

export function lineAsked(line, item, reading) {
  // One line of the request; what a stored line says besides is kept as long as its item is.
  const { given } = line;
  if (given && given.text === line.text) return { ...given.line };
  const more = {};
  if (given && given.line.item === item) {
    for (const name of LINE) if (given.line[name] !== undefined) more[name] = given.line[name];
  }
  const read = reading || parsed(line.text);
  const asked = { item, amount: read.amount, ...more };
  if (read.role !== "pour") asked.role = read.role;
  if (read.eaten) asked.eaten = true;
  if (read.role !== "rinse") delete asked.residue_ml;
  return asked;
}

const figure = (text) => text.trim().replace(",", ".");

// The spec of a question: what a stored drink says of tills is in none.
export const specOf = ({ external_ids: _, ...spec }) => spec;

export function drinkKept(state, lines) {
  const drink = { ...state.rest, id: state.id || "drink", name: state.name.trim() || "Drink without a name", lines };
  if (state.serves.trim()) drink.serves = figure(state.serves);
  const given = state.rest.method || {};
  drink.method = { kind: state.method };
  if (figure(state.water)) drink.method.water = { ml: figure(state.water) };
  else if (given.water && given.water.ml === undefined) drink.method.water = given.water;
  const { serve = {} } = state.rest;
  drink.serve = { ...serve };
  if (figure(state.glass)) drink.serve.glass_ml = figure(state.glass); else delete drink.serve.glass_ml;
  if (figure(state.ice)) drink.serve.ice = { kind: serve.ice?.kind || "cubes", ice_g: figure(state.ice) };
  else if (serve.ice?.ice_g !== undefined) delete drink.serve.ice;
  if (!Object.keys(drink.serve).length) delete drink.serve;
  return drink;
}

export function stateOf(drink, texts, place) {
  // A stored or shared drink as state; `texts` are its lines as written.
  const { id, name, serves, lines, ...rest } = drink;
  const known = (value) => (value === undefined || value === null ? "" : String(value));
  return {
    id, name, serves: known(serves ?? 1), method: drink.method?.kind || "none", glass: known(drink.serve?.glass_ml),
    ice: known(drink.serve?.ice?.ice_g), water: known(drink.method?.water?.ml), place,
    lines: lines.map((line, number) => ({ text: texts[number], item: line.item, label: parsed(texts[number]).name,
      given: { text: texts[number], line } })),
    rest,
  };
}

export class History {
  // States that were, as text; a burst of typing at one place is one step.
  constructor(state) { this.past = []; this.future = []; this.now = JSON.stringify(state); this.burst = ["", 0]; }

  note(state, place) {
    const text = JSON.stringify(state);
    if (text === this.now) return;
    const [last, when] = this.burst;
    if (!place || place !== last || Date.now() - when > 1200) this.past.push(this.now);
    if (this.past.length > MOST_UNDONE) this.past.shift();
    this.burst = [place, Date.now()];
    this.future = [];
    this.now = text;
  }

  undo() { return this.moved(this.past, this.future); }

  redo() { return this.moved(this.future, this.past); }

  moved(from, to) {
    if (!from.length) return null;
    to.push(this.now);
    this.now = from.pop();
    this.burst = ["", 0];
    return JSON.parse(this.now);
  }
}

export function linkOf(state) {
  // The spec for a link: what is poured and how. No price, no key, no modifier (those carry prices), no till's id.
  const shared = Object.fromEntries(SHARED.filter((name) => state.rest[name] !== undefined).map((name) => [name, state.rest[name]]));
  const { id, name, serves, method, glass, ice, water, place, rest } = state;
  const lines = state.lines.filter((line) => line.text.trim())
    .map(({ text, item, label, given }) => [text, item, label, given && given.text === text ? given.line : null]);
  const more = { ...shared, ...(rest.method ? { method: rest.method } : {}), ...(rest.serve ? { serve: rest.serve } : {}) };
  const spec = { v: 1, id, name, serves, method, glass, ice, water, place, lines, rest: more };
  const bytes = new TextEncoder().encode(JSON.stringify(spec));
  let binary = "";
  for (const byte of bytes) binary += String.fromCharCode(byte);
  return `#d=${btoa(binary).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "")}`;
}

const text = (value, most = 200) => (typeof value === "string" ? value.slice(0, most) : "");
const object = (value) => (value && typeof value === "object" && !Array.isArray(value) ? value : null);

export function ofLink(fragment) {
  // The state in a link, or null where it is not one of ours. The service checks the rest when it is asked.
  if (!fragment.startsWith("#d=") || fragment.length > 60000) return null;
  try {
    const binary = atob(fragment.slice(3).replaceAll("-", "+").replaceAll("_", "/"));
    const spec = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(Uint8Array.from(binary, (sign) => sign.charCodeAt(0))));
    if (spec.v !== 1 || !Array.isArray(spec.lines)) return null;
    const lines = spec.lines.slice(0, 60).map((row) => {
      const [written, item, label, given] = Array.isArray(row) ? row : [];
      const kept = object(given);
      return { text: text(written), item: text(item, 64), label: text(label), given: kept && { text: text(written), line: kept } };
    });
    const made = blank();
    for (const name of ["id", "name", "serves", "method", "glass", "ice", "water", "place"]) made[name] = text(spec[name]);
    const rest = object(spec.rest) || {};
    for (const name of [...SHARED, "method", "serve"]) if (rest[name] !== undefined) made.rest[name] = rest[name];
    return { ...made, lines: lines.length ? lines : made.lines };
  } catch { return null; }
}
