// Azimuth and count back, the ground they are for, and where the walker will then stand.
import { complain, Complaint } from "./complaints.js";
import { directionDeg } from "./compass.js";
import { LARGEST_COUNT, tallyOfCount, wholeCount } from "./tally.js";
import { classErrorName, classRatio, classRatioSd, mapFrame } from "./walker.js";
import { minus, outer, plus, times, turned, zero } from "./matrix.js";
import { leadOverLegs } from "./lead.js";
import { reckon, walkedCovariance, walkedTurnSdDeg } from "./reckoning.js";
import { exactOwn, halfWidths, isCoarse, region } from "./regions.js";

export const TURNED_SLOPE = { up: "down", down: "up", level: "level" };
const ORDINARY = "ordinary ground", RAD = Math.PI / 180;
const nameOf = (one) => (one === null ? ORDINARY : [one.ground, one.slope].filter(Boolean).join(" ") || ORDINARY);

/** What a way is counted on: the ground named, or the mean over the classes of the legs walked.
 * @param {any} log @param {any} walker @param {any} reckoning @param {any[]} legs @param {string | null} ground
 * @param {string | null} slope */
export function groundOfWay(log, walker, reckoning, legs, ground = null, slope = null) {
  const parts = ground !== null || slope !== null ? [[walker.pace_class(ground, slope), 1]] : walked(log, walker, reckoning, legs);
  const shares = new Map();
  for (const [one, length] of parts) shares.set(one, (shares.get(one) ?? 0) + length);
  const total = [...shares.values()].reduce((sum, one) => sum + one, 0) || 1;
  const told = [...shares].map(([one, length]) => [one, length / total]).sort((a, b) => b[1] - a[1]);
  const per = told.reduce((sum, [one, share]) => sum + share * (one === null ? 1 : 1 / classRatio(one, walker)), 0);
  const named = told.filter(([one]) => one !== null);
  return {
    counts_per_unit: told.length ? per : 1,
    shares: named.length ? told.map(([one, share]) => [nameOf(one), share]) : [],
    errors: named.map(([one, share]) => [classErrorName(one), share, classRatioSd(one, walker) ** 2]),
    others: others(walker, told.map(([one]) => nameOf(one))),
  };
}

function walked(log, walker, reckoning, legs) {
  if (!walker.classes.length || log.heading.count_unit === "metres") return [];
  return legs.map((one) => {
    const row = log.legs[one.leg - 1];
    const slope = row.slope !== null && one.is_back ? TURNED_SLOPE[row.slope] : row.slope;
    return [classOr(walker, row, slope), reckoning.length[one.leg - 1]];
  });
}

function classOr(walker, row, slope) {
  try {
    return walker.pace_class(row.ground, slope);
  } catch (wrong) {
    if (!(wrong instanceof Complaint)) throw wrong;
    // The table tells this ground on the slope that was walked out on, and not on its other side.
    return walker.pace_class(row.ground, row.slope);
  }
}

function others(walker, told) {
  if (walker.per_100_m === null || !walker.classes.length) return [];
  const every = new Map([[ORDINARY, 1], ...walker.classes.map((one) => [nameOf(one), 1 / classRatio(one, walker)])]);
  return [...every].filter(([name]) => !told.includes(name));
}

/** Azimuth and count that lead from one place to another, in the walker's frame.
 * @param {any} lead @param {any} reckoning @param {any} walker @param {any} ground @param {number} probability
 * @param {number[] | null} origin @param {any} map_figure @returns {any} */
export function wayAlong(lead, reckoning, walker, ground, probability, origin = null, map_figure = null) {
  const frame = reckoning.frame, distance = Math.hypot(...lead.step), azimuth_deg = directionDeg(...lead.step);
  const count = wholeCount(distance * ground.counts_per_unit);
  if (count > LARGEST_COUNT) throw complain("_check_count", 0, { count });
  let covariance = plus(afterWalking(lead, ground), walkedCovariance(azimuth_deg, distance, walker, frame));
  const [shift, more] = wideAzimuths(lead, reckoning, walker, covariance);
  covariance = plus(covariance, more);
  const [ahead, across] = halfWidths(covariance, azimuth_deg, probability);
  const here = origin ?? reckoning.place[lead.from_station];
  const center = [here[0] + lead.step[0] + shift[0], here[1] + lead.step[1] + shift[1]];
  return {
    kind: "WayBack", from_station: lead.from_station, to_station: lead.to_station, from_name: lead.from_name, to_name: lead.to_name,
    unit: frame.unit, azimuth_reference: frame.azimuth_reference, azimuth_deg, distance, count,
    counts_per_unit: ground.counts_per_unit, ground: ground.shares,
    other_counts: ground.others.map(([name, per]) => [name, wholeCount(distance * per)]), legs: lead.legs,
    tally: tallyOnWay(count, frame.unit, walker), covariance, probability, along: ahead, across,
    region: region(center, covariance, probability, "ellipse", here), map_figure, is_there: lead.is_there,
  };
}

export function tallyOnWay(count, unit, walker) {
  if (unit === "pace") return tallyOfCount(count);
  return walker.per_100_m === null ? null : tallyOfCount(count / walker.pace_m(), walker.per_100_m);
}

/** The covariance of the step, and of the pace counts of the ground walked back on. */
function afterWalking(lead, ground) {
  let covariance = lead.covariance;
  for (const [name, share, variance] of ground.errors) {
    const crossed = times(outer(lead.with_ground[name] ?? [0, 0], lead.step), share);
    covariance = minus(minus(plus(covariance, times(outer(lead.step, lead.step), share ** 2 * variance)), crossed), turned(crossed));
  }
  return covariance;
}

/** What widely scattered azimuths add: where the walker stands on average, and covariance.
 * @returns {[number[], number[][]]} */
function wideAzimuths(lead, reckoning, walker, covariance) {
  const turn = (walkedTurnSdDeg(walker) * RAD) ** 2;
  if (!lead.is_written || !isCoarse(lead.step, covariance, turn)) return [[0, 0], zero()];
  const index = lead.legs.map((one) => one.leg - 1), owns = index.map((i) => reckoning.own[i]);
  const [outPull, out] = exactOwn(
    index.map((i, k) => reckoning.azimuth_deg[i] + (lead.legs[k].is_back ? 180 : 0)), index.map((i) => reckoning.length[i]), owns,
    index.map((i) => reckoning.turn_variance_rad2[i]),
  );
  const azimuth = directionDeg(...lead.step), distance = Math.hypot(...lead.step);
  const walkedOwn = walkedCovariance(azimuth, distance, walker, reckoning.frame);
  const [backPull, back] = exactOwn([azimuth], [distance], [walkedOwn], [turn]);
  const more = minus(plus(minus(out, owns.reduce(plus, zero())), back), walkedOwn);
  return [[outPull[0] - backPull[0], outPull[1] - backPull[1]], more];
}

/** The same way in the map frame, with what compass and pace may be off all day; null without a pace count. */
export function mapFigure(log, walker, lead, probability) {
  if (lead.is_there || (walker.per_100_m === null && log.heading.count_unit !== "metres")) return null;
  const onMap = reckon(log, walker, mapFrame(log.heading, walker));
  const over = leadOverLegs(onMap, lead.from_station, lead.to_station, lead.legs);
  const azimuth_deg = directionDeg(...over.step), [along_m, across_m] = halfWidths(over.covariance, azimuth_deg, probability);
  return { azimuth_deg, azimuth_reference: onMap.frame.azimuth_reference, length_m: Math.hypot(...over.step), along_m, across_m };
}

/** The counts at which to begin to look, to expect the target, and to stop. */
export function overshoot(way) {
  const reach = way.along * way.counts_per_unit;
  return { look_from: Math.max(0, Math.floor(way.count - reach)), expect_at: way.count, stop_at: Math.ceil(way.count + reach) };
}
