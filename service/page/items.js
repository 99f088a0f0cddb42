// Finds the item that a written name means: what the house keeps first, then the reference. Nothing is guessed:
// of several that fit, none is taken.

import { asked, orNothing } from "./client.js";

const known = new Map();

const plain = (text) => text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
const wordsOf = (text) => plain(text).split(/[^a-z0-9]+/).filter(Boolean);
const sameWords = (one, other) => [...one].sort().join(" ") === [...other].sort().join(" ");

export const slug = (text) => wordsOf(text).join("-").slice(0, 64).replace(/-+$/, "");

export const forget = () => known.clear();

const entry = (from) => (row) => {
  const body = row.body || row;
  return { id: body.id, name: body.name, kind: body.kind || "", abv: body.abv_percent ?? null, from };
};

async function found(words) {
  const longest = [...words].sort((one, other) => other.length - one.length)[0];
  const whole = encodeURIComponent(words.join(" "));
  const part = encodeURIComponent(longest);
  const [parts, bought, embedded] = await Promise.all([
    orNothing(asked(`v1/preparations?page_size=50&text=${part}`), 401, 403, 404),
    orNothing(asked(`v1/ingredients?page_size=50&text=${part}`), 401, 403, 404),
    asked(`v1/reference/items?page_size=30&text=${whole}`),
  ]);
  const rows = [...(parts?.entries || []).map(entry("made here")), ...(bought?.entries || []).map(entry("catalogue")),
    ...embedded.items.map(entry("reference"))];
  const ids = new Set();
  const begins = (row) => Number(!wordsOf(row.name).slice(0, 1).some((one) => one.startsWith(words[0])));
  return rows.sort((one, other) => begins(one) - begins(other)).filter((row) => {
    const own = wordsOf(`${row.id} ${row.name}`);
    const fits = !ids.has(row.id) && (row.from === "reference" || words.every((word) => own.some((one) => one.startsWith(word))));
    if (fits) ids.add(row.id);
    return fits;
  });
}

export function candidates(name) {
  // { item, rows }: the one that is meant, or null, and all that fit.
  const words = wordsOf(name).slice(0, 12);
  const place = words.join(" ");
  if (!place) return Promise.resolve({ item: null, rows: [] });
  if (!known.has(place)) {
    if (known.size > 500) known.clear();
    const promise = found(words).then((rows) => ({ item: meant(words, rows), rows }));
    promise.catch(() => known.delete(place));
    known.set(place, promise);
  }
  return known.get(place);
}

function meant(words, rows) {
  const same = rows.filter((row) => sameWords(wordsOf(row.id), words) || sameWords(wordsOf(row.name), words));
  if (same.length) return same[0];
  const [only] = rows;
  if (rows.length !== 1) return null;
  const own = wordsOf(`${only.id} ${only.name}`);
  return words.every((word) => own.includes(word)) ? only : null;
}

export function about(row) {
  return [row.kind, row.abv === null || !row.abv ? "" : `${row.abv} % vol`, row.from].filter(Boolean).join(", ");
}
