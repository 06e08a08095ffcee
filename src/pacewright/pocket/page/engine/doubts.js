// What the page does not use or do, said where the laptop says its doubts.
import { different } from "./complaints.js";

const several = (many, one, more) => `${many.length > 1 ? more : one} ${many.join(", ")}`;

/** What a log holds that moves the laptop's answer and not this one, in sentences. @returns {string[]} */
export function sayNotUsed(log) {
  const bearings = different([...log.sightings()].map(([, row]) => row.name));
  const backs = log.legs.flatMap((leg, at) => (leg.find("BackReading") ? [at + 1] : []));
  const known = log.heading.known.map((one) => one.name), said = [];
  const names = log.station_names().filter(Boolean), again = different(names.filter((name, at) => names.indexOf(name) !== at));
  if (bearings.length) said.push(several(bearings, "the bearings to", "the bearings to"));
  if (backs.length) said.push(several(backs, "the back reading of leg", "the back readings of legs"));
  if (known.length) said.push(several(known, "the known place of", "the known places of"));
  const told = said.length
    ? [`Not used here: ${said.join("; ")}. The laptop uses what it can of them, and its answer may be another.`] : [];
  if (again.length) {
    told.push(`${again.join(", ")} was met again. Here the way goes over the surest legs and leaves a closed loop out. The laptop also spreads what does not close and searches for a mistake: its answer may be another.`);
  }
  return told;
}

/** The warning while a closure is more than scatter explains. @returns {string[]} */
export function sayDoubtOf(log, way, doubt) {
  const places = different(doubt.unexplained.map((one) => one.at));
  if (!places.length) return [];
  return [`Take care: at ${places.join(", ")} this log misses by more than scatter explains, and the way is taken as written. Look for a mistake in those legs. This page does not search for one; the laptop does.`];
}
