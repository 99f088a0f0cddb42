// What the house says of itself: the group's settings, and a venue's own over them, field by field as the service does.

import { allEntries, asked, orNothing } from "./client.js";

const CLOSED = [401, 403, 404];

export async function venuesKnown() {
  // { group, venues }: the defaults, and every place that has settings of its own.
  const [group, entries] = await Promise.all([orNothing(asked("v1/venues/group"), ...CLOSED), orNothing(allEntries("venues"), ...CLOSED)]);
  return { group: group || {}, venues: (entries || []).map((entry) => entry.body).filter((venue) => venue.id !== "group") };
}

export function settledAt(group, venue = {}) {
  const over = (name) => (group[name] || venue[name] ? { ...group[name], ...venue[name] } : undefined);
  return { jurisdictions: venue.jurisdictions || group.jurisdictions, measures: venue.measures || group.measures, pricing: over("pricing"), house: over("house") };
}
