// How to search where the target is not there.
import { complain } from "./complaints.js";
import { normalAzimuth, unitVector } from "./compass.js";
import { normalQuantile, normalShare } from "./normal.js";
import { rootOf } from "./regions.js";

const SPACING_IN_SIGHTINGS = 1.5, MOST_LEGS = 60, PLACES = 8192, GOLDEN_TURN = Math.PI * (3 - Math.sqrt(5));

function checkSighting(distance, unit) {
  if (!(distance > 0 && distance < 1e6)) throw complain("_check_sighting", 0, { sighting_distance: distance, unit });
}

/** The expanding square that brings the target into sight in a stated share of walks. */
export function expandingSquare(way, sighting_distance) {
  checkSighting(sighting_distance, way.unit);
  const spacing = SPACING_IN_SIGHTINGS * sighting_distance, [easts, norths] = likelyPlaces(way.covariance), legs = [];
  const nearest = easts.map((east, k) => Math.hypot(east, norths[k]));
  const share = () => nearest.reduce((seen, far) => seen + (far <= sighting_distance ? 1 : 0), 0) / PLACES;
  const seen_at_once = share();
  let spotEast = 0, spotNorth = 0, total = 0;
  for (let side = 0; side < MOST_LEGS; side += 1) {
    const azimuth_deg = normalAzimuth(way.azimuth_deg + 90 * side), length = spacing * (Math.floor(side / 2) + 1);
    const [east, north] = unitVector(azimuth_deg), stepEast = length * east, stepNorth = length * north;
    const square = stepEast ** 2 + stepNorth ** 2;
    for (let k = 0; k < PLACES; k += 1) {
      const offEast = easts[k] - spotEast, offNorth = norths[k] - spotNorth;
      const part = Math.min(1, Math.max(0, (offEast * stepEast + offNorth * stepNorth) / square));
      const far = Math.sqrt((offEast - part * stepEast) ** 2 + (offNorth - part * stepNorth) ** 2);
      if (far < nearest[k]) nearest[k] = far;
    }
    spotEast += stepEast;
    spotNorth += stepNorth;
    total += length;
    const seen_share = share();
    legs.push({ azimuth_deg, length, total, seen_share });
    if (seen_share >= way.probability) return { kind: "ExpandingSquare", spacing, legs, seen_at_once };
  }
  throw complain("expanding_square", 0, { sighting_distance, total, way });
}

/** Places that are equally likely for the target, about the spot reached: their easts, their norths. */
function likelyPlaces(covariance) {
  const root = rootOf(covariance), easts = new Float64Array(PLACES), norths = new Float64Array(PLACES);
  for (let k = 0; k < PLACES; k += 1) {
    const far = Math.sqrt(-2 * Math.log1p(-(k + 0.5) / PLACES)), turn = k * GOLDEN_TURN;
    const x = far * Math.sin(turn), y = far * Math.cos(turn);
    easts[k] = root[0][0] * x + root[0][1] * y;
    norths[k] = root[1][0] * x + root[1][1] * y;
  }
  return [easts, norths];
}

/** The search along a line that brings the target on it into sight in a stated share of walks. */
export function lineSearch(aim, sighting, share) {
  checkSighting(sighting, aim.unit);
  const sd = Math.max(aim.line_sd, 1e-9), below = (x) => normalShare((x - aim.offset) / sd), ahead = aim.follow_to;
  const seen_at_once = below(sighting) - below(-sighting), before = below(ahead + sighting);
  let seen_share = before - below(-sighting);
  const legs = [{ azimuth_deg: aim.turn_azimuth_deg, length: ahead, total: ahead, seen_share }];
  if (seen_share < share && share < before) {
    const behind = Math.ceil(-(aim.offset + normalQuantile(before - share) * sd) - sighting), back = ahead + behind;
    seen_share = before - below(-behind - sighting);
    legs.push({ azimuth_deg: aim.offset_azimuth_deg, length: back, total: ahead + back, seen_share });
  }
  return { kind: "LineSearch", legs, seen_at_once };
}
