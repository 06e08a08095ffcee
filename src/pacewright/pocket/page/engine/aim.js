// Which side and how far to aim off from a line, and which way to turn at it.
import { complain } from "./complaints.js";
import { directionDeg, fromDegrees, normalAzimuth, toDegrees, turnDeg, unitVector } from "./compass.js";
import { along } from "./matrix.js";
import { normalQuantile, normalShare } from "./normal.js";
import { walkedTurnSdDeg } from "./reckoning.js";
import { wholeCount } from "./tally.js";
import { tallyOnWay } from "./way.js";

const FLATTEST_CROSSING = 15, RAD = Math.PI / 180;
const cross = (a, b) => a[0] * b[1] - a[1] * b[0];
const sdAlong = (spread, direction) => Math.sqrt(Math.max(0, along(spread, direction)));
const beside = (azimuth) => { const [east, north] = unitVector(azimuth); return [north, -east]; };

/** The side and the offset that leave at most a stated chance of the wrong side. */
export function aimAlong(lead, reckoning, walker, unit, line, wrongSide, toward, countsPerUnit, probability) {
  if (!(wrongSide > 0 && wrongSide < 0.5)) throw complain("aim_along", 0, { wrong_side_chance: wrongSide });
  const course = {
    step: lead.step, spread: lead.covariance, walker, countsPerUnit, unit, frame: reckoning.frame,
    reach: normalQuantile((1 + probability) / 2), held: walkedTurnSdDeg(walker) * RAD,
  };
  const sds = -normalQuantile(wrongSide);
  if (angleOff(course, sds, 1) === null && angleOff(course, sds, -1) === null) {
    throw complain("aim_along", 1, { distance: Math.hypot(...lead.step), reckoning });
  }
  let found = /** @type {any[]} */ ([normalAzimuth(line), normalAzimuth(line + 180)].map((side) => aimTo(course, sds, side)).filter(Boolean));
  if (toward !== null) found = found.filter((one) => Math.abs(turnDeg(one.offset_azimuth_deg, toward)) <= 90);
  if (!found.length) throw complain("aim_along", 2);
  return found.reduce((best, one) => (one.count + one.offset < best.count + best.offset ? one : best));
}

/** How far to aim beside the target, in degrees; null where the scatter exceeds the way. */
function angleOff(course, sds, hand) {
  const direct = directionDeg(...course.step), distance = Math.hypot(...course.step);
  let off = 0;
  for (let k = 0; k < 50; k += 1) {
    const needed = sds * passingSd(course, direct + (hand * off) / RAD);
    if (needed >= distance) return null;
    const before = off;
    off = Math.asin(needed / distance);
    if (Math.abs(off - before) < 1e-9) break;
  }
  return off / RAD;
}

function aimTo(course, sds, side_deg) {
  const direct = directionDeg(...course.step), hand = turnDeg(direct, side_deg) > 0 ? 1 : -1, off = angleOff(course, sds, hand);
  if (off === null) return null;
  const azimuth_deg = dialled(direct + hand * off, hand, course.unit), crossing_deg = crossing(azimuth_deg, side_deg);
  if (crossing_deg < FLATTEST_CROSSING + 2 * course.walker.compass.bias_sd_deg) return null;
  const ahead = unitVector(azimuth_deg), side = unitVector(side_deg);
  const distance = cross(course.step, side) / cross(ahead, side), offset = cross(course.step, ahead) / cross(ahead, side);
  if (distance <= 0 || offset <= 0) return null;
  const turn_azimuth_deg = normalAzimuth(side_deg + 180);
  const reach = course.reach * meetingSd(course, azimuth_deg, side_deg, distance);
  const line_sd = Math.hypot(sdAlong(course.spread, beside(azimuth_deg)), course.held * distance) / Math.sin(crossing_deg * RAD);
  const count = wholeCount(distance * course.countsPerUnit);
  return {
    kind: "AimingOff", azimuth_deg, count, offset, offset_azimuth_deg: side_deg,
    turn: turnDeg(azimuth_deg, turn_azimuth_deg) > 0 ? "right" : "left", turn_azimuth_deg,
    line_from: Math.max(0, Math.floor((distance - reach) * course.countsPerUnit)),
    line_by: Math.ceil((distance + reach) * course.countsPerUnit),
    tally: tallyOnWay(count, course.frame.unit, course.walker), follow_to: Math.ceil(offset + course.reach * line_sd), line_sd,
    wrong_side_chance: normalShare(-Math.abs(cross(course.step, ahead)) / passingSd(course, azimuth_deg)), crossing_deg,
    unit: course.frame.unit,
  };
}

function dialled(azimuth, hand, unit) {
  // Rounded away from the target, so that whoever dials whole units keeps the stated chance.
  return normalAzimuth(toDegrees(hand * Math.ceil(hand * fromDegrees(azimuth, unit) - 1e-9), unit));
}

function crossing(azimuth, line) {
  const between = Math.abs(turnDeg(azimuth, line));
  return Math.min(between, 180 - between);
}

/** The scatter of how far beside the target the track passes, where it is nearest to it. */
function passingSd(course, azimuth) {
  const [east, north] = unitVector(azimuth), abreast = course.step[0] * east + course.step[1] * north;
  return Math.hypot(sdAlong(course.spread, [north, -east]), course.held * abreast);
}

function meetingSd(course, azimuth, side, distance) {
  const angle = crossing(azimuth, side) * RAD, scatter = course.walker.count;
  const start = sdAlong(course.spread, beside(side)) / Math.sin(angle), turned = (course.held * distance) / Math.tan(angle);
  const floor = scatter.count_floor * course.frame.units_per_pace;
  return Math.hypot(start, turned, Math.max((scatter.count_sd_pct / 100) * distance, floor));
}
