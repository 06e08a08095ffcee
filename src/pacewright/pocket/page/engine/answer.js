// The answers: where am I, the way back, what closes, and what a log holds that this page does not use.
import { complain, orComplaint } from "./complaints.js";
import { sayNotUsed } from "./doubts.js";
import { even, plus, distance2 } from "./matrix.js";
import { cutAtMarkers, leadOverLegs, withThere } from "./lead.js";
import { reckon } from "./reckoning.js";
import { halfWidths } from "./regions.js";
import { retrace, retraceCovariance } from "./retrace.js";
import { expandingSquare, lineSearch } from "./search.js";
import { unitsPerMetre, walkerFrame } from "./walker.js";
import { aimAlong } from "./aim.js";
import { groundOfWay, mapFigure, overshoot, wayAlong } from "./way.js";

const MARKER_SD_M = 1, UNUSUAL_BELOW = 0.05, MISTAKE_BELOW = 0.01;

/** A log with what all answers about it rest on, in the walker's frame. */
export function estimateOf(log, walker) {
  const frame = walkerFrame(log.heading, walker), written = reckon(log, walker, frame);
  const closures = closuresOf(log, written, MARKER_SD_M * unitsPerMetre(walker, frame));
  // Of many closures only those count whose chance stays below a mistake's times their number.
  const unexplained = closures.filter((one) => one.p_value * closures.length < MISTAKE_BELOW);
  const stations = unexplained.length ? cutAtMarkers(written, MARKER_SD_M * unitsPerMetre(walker, frame)) : written;
  return { log, walker, written, stations, closures, unexplained };
}

function closuresOf(log, reckoning, sd) {
  const before = new Map(), found = [];
  reckoning.names.forEach((name, station) => {
    if (!name) return;
    if (before.has(name)) found.push(closed(name, before.get(name), station, sd, reckoning));
    before.set(name, station);
  });
  return found;
}

function closed(at, first, last, sd, reckoning) {
  const [a, b] = [reckoning.place[first], reckoning.place[last]], [east, north] = [b[0] - a[0], b[1] - a[1]];
  const length = Math.hypot(east, north), walked = reckoning.length.slice(first, last).reduce((sum, one) => sum + one, 0);
  const covariance = plus(reckoning.relative_covariance(first, last), even(sd ** 2));
  const mahalanobis2 = east || north ? distance2([east, north], covariance) : 0, p_value = Math.exp(-mahalanobis2 / 2);
  const verdict = p_value < MISTAKE_BELOW ? "mistake" : p_value < UNUSUAL_BELOW ? "unusual" : "ordinary";
  return {
    kind: "loop", at, from_station: first, to_station: last, legs: [first + 1, last], east, north, length, walked,
    ratio: length > 0 ? walked / length : null, covariance, mahalanobis2, p_value, verdict: walked === 0 ? "no legs" : verdict,
  };
}

/** How one station lies from another, as written; one marker is one place, within a metre. */
function leadOf(estimate, here, goal) {
  if (here === goal) throw complain("lead_of", 0, { here });
  const lead = leadOverLegs(estimate.written, here, goal);
  if (!lead.is_there) return lead;
  const sd = MARKER_SD_M * unitsPerMetre(estimate.walker, estimate.written.frame);
  return withThere({ ...lead, step: [0, 0], covariance: even(sd ** 2), legs: [], is_written: false });
}

/** The way to a station, and beside it whatever else was asked for.
 * @param {any} estimate
 * @param {{from_station: number, to?: number, probability?: number, ground?: string | null, slope?: string | null,
 *   line_deg?: number | null, toward_deg?: number | null, wrong_side?: number, sighting_distance?: number | null,
 *   with_retrace?: boolean}} asked */
export function answerWay(estimate, asked) {
  const { log, walker, written } = estimate, probability = asked.probability ?? 0.95;
  const lead = leadOf(estimate, asked.from_station, asked.to ?? 0);
  const ground = groundOfWay(log, walker, written, lead.legs, asked.ground ?? null, asked.slope ?? null);
  const origin = estimate.stations.place[lead.from_station];
  const way = wayAlong(lead, written, walker, ground, probability, origin, mapFigure(log, walker, lead, probability));
  const aim = aimed(estimate, lead, way, asked, probability), isAimed = aim !== null && aim.kind === "AimingOff";
  let square = null;
  if ((asked.sighting_distance ?? null) !== null) {
    const far = /** @type {number} */ (asked.sighting_distance);
    square = isAimed ? lineSearch(aim, far, probability) : orComplaint(() => expandingSquare(way, far));
  }
  return {
    kind: "WayAnswer", log, walker, way, turn: overshoot(way), aim, aimed: isAimed ? aim : null, square,
    retraced: asked.with_retrace ? retraced(estimate, lead, way) : null, doubt: { unexplained: estimate.unexplained },
    unused: way.is_there ? [] : sayNotUsed(log),
  };
}

function aimed(estimate, lead, way, asked, probability) {
  const line = asked.line_deg ?? null;
  if (line === null) return null;
  const { written, walker, log } = estimate;
  return orComplaint(() => aimAlong(
    lead, written, walker, log.heading.azimuth_unit, line, asked.wrong_side ?? 0.02, asked.toward_deg ?? null, way.counts_per_unit,
    probability,
  ));
}

function retraced(estimate, lead, way) {
  if (!lead.legs.length) return null;
  const { log, walker } = estimate, back = retrace(log, walker, lead.legs);
  const covariance = retraceCovariance(log, walker, lead.legs, back);
  const [along, across] = halfWidths(covariance, way.azimuth_deg, way.probability);
  return { log: back, along, across, covariance };
}
