// What the house says of itself, and what the key that asks may do.

import { allEntries, asked, key, orNothing } from "./client.js";

const CLOSED = [401, 403, 404];

export async function venuesKnown() {
  // { group, venues }: the defaults, and every place that has settings of its own.
  const [group, entries] = await Promise.all([orNothing(asked("v1/venues/group"), ...CLOSED), orNothing(allEntries("venues"), ...CLOSED)]);
  return { group: group || {}, venues: (entries || []).map((entry) => entry.body).filter((venue) => venue.id !== "group") };
}

let told = { key: null };

export async function access() {
  // { may, venue }: whether a scope is held, and the one venue of the key. Where nothing is told, the service refuses in its own words.
  if (told.key !== key.get()) told = { key: key.get(), answer: orNothing(asked("v1/access"), ...CLOSED) };
  const { answer } = told;
  answer.catch(() => { told = { key: null }; });
  const found = await answer;
  return { may: (scope) => !found || found.scopes.includes(scope), venue: found?.venue || "" };
}
