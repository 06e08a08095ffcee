// How sure, along and across.
import { complain } from "./complaints.js";
import { unitVector } from "./compass.js";
import { along, eigenvalues, minus, outer, plus, times, zero } from "./matrix.js";

const BEND_ABOVE = 0.15, BEND_FROM_SD = 3, LEAST_WIDTH2 = 1e-12, RAD = Math.PI / 180;

export function reachOf(probability) {
  if (!(probability > 0 && probability < 1)) throw complain("reach_of", 0, { probability });
  return Math.sqrt(-2 * Math.log1p(-probability));
}

export function halfWidths(covariance, azimuth, probability) {
  const ahead = [Math.sin(azimuth * RAD), Math.cos(azimuth * RAD)], beside = [ahead[1], -ahead[0]];
  const reach = reachOf(probability);
  return [ahead, beside].map((one) => reach * Math.sqrt(Math.max(0, along(covariance, one))));
}

/** Standard deviations along the long and the short axis, and the long axis's azimuth from 0 up to 180. */
export function ellipseAxes(covariance) {
  const [large, small] = eigenvalues(covariance).map((value) => Math.sqrt(Math.max(0, value)));
  const [[ee, en], [, nn]] = covariance;
  const azimuth = Math.atan2(2 * en, nn - ee) / 2 / RAD;
  return [large, small, ((azimuth % 180) + 180) % 180];
}

/** Whether azimuths scatter too widely for first order over a step. */
export function isCoarse(step, covariance, turnVariance) {
  const far2 = step[0] ** 2 + step[1] ** 2;
  return turnVariance / 2 > BEND_ABOVE * (far2 > 0 ? Math.sqrt(along(covariance, step)) / far2 : Infinity);
}

/** What large azimuth scatter does to legs, exactly: how far short they end, and their own covariance.
 * @returns {[number[], number[][]]} */
export function exactOwn(azimuths, lengths, owns, turns) {
  let pull = [0, 0], exact = zero();
  azimuths.forEach((azimuth, i) => {
    const ahead = [Math.sin(azimuth * RAD), Math.cos(azimuth * RAD)], beside = [ahead[1], -ahead[0]];
    const length2 = lengths[i] ** 2, turn = turns[i], countVariance = along(owns[i], ahead), square = length2 + countVariance;
    const alongMore = (square * (1 + Math.exp(-2 * turn))) / 2 - length2 * Math.exp(-turn) - countVariance;
    const acrossMore = (square * (1 - Math.exp(-2 * turn))) / 2 - length2 * turn;
    exact = plus(plus(exact, owns[i]), plus(times(outer(ahead, ahead), alongMore), times(outer(beside, beside), acrossMore)));
    const short = (1 - Math.exp(-turn / 2)) * lengths[i];
    pull = [pull[0] + short * ahead[0], pull[1] + short * ahead[1]];
  });
  return [pull, exact];
}

/** The region of a station as seen from the start, bent where it must be. */
export function stationRegion(reckoning, station, probability) {
  const origin = [0, 0];
  if (reckoning.held) return region(reckoning.place[station], reckoning.held[station], probability, "ellipse", origin);
  let covariance = reckoning.relative_covariance(0, station), own = reckoning.own_sum[station], center = reckoning.place[station];
  if (isCoarse(center, covariance, meanTurn(reckoning, station))) {
    const [pull, exact] = exactOwn(
      reckoning.azimuth_deg.slice(0, station), reckoning.length.slice(0, station), reckoning.own.slice(0, station),
      reckoning.turn_variance_rad2.slice(0, station),
    );
    center = [center[0] - pull[0], center[1] - pull[1]];
    covariance = plus(minus(covariance, own), exact);
    own = exact;
  }
  const far = Math.hypot(...center) > BEND_FROM_SD * Math.sqrt(eigenvalues(own)[0]);
  const bent = far && isCoarse(center, covariance, (reckoning.frame.bias_sd_deg * RAD) ** 2);
  return region(center, covariance, probability, bent ? "bent" : "ellipse", origin);
}

function meanTurn(reckoning, station) {
  const lengths = reckoning.length.slice(0, station), total = lengths.reduce((sum, one) => sum + one, 0);
  if (!lengths.some((one) => one !== 0)) return 0;
  return lengths.reduce((sum, one, i) => sum + one * reckoning.turn_variance_rad2[i], 0) / total;
}

export function region(center, covariance, probability, shape, origin) {
  return {
    center, covariance, probability, shape, origin,
    half_widths: (azimuth) => {
      if (shape === "ellipse") return halfWidths(covariance, azimuth, probability);
      const [east, north] = unitVector(azimuth), edge = outline(covariance, center, origin, probability, shape, 360);
      const off = edge.map(([e, n]) => [e - center[0], n - center[1]]);
      return [
        Math.max(...off.map(([e, n]) => Math.abs(e * east + n * north))),
        Math.max(...off.map(([e, n]) => Math.abs(e * north - n * east))),
      ];
    },
  };
}

/** The edge of a region as a closed ring. */
export function outline(covariance, center, origin, probability, shape, points = 72) {
  const reach = reachOf(probability), turns = Array.from({ length: points + 1 }, (_, k) => (2 * Math.PI * k) / points);
  if (shape === "ellipse") {
    const root = rootOf(covariance);
    return turns.map((turn) => {
      const [c, s] = [reach * Math.cos(turn), reach * Math.sin(turn)];
      return [center[0] + root[0][0] * c + root[0][1] * s, center[1] + root[1][0] * c + root[1][1] * s];
    });
  }
  const [east, north] = [center[0] - origin[0], center[1] - origin[1]], range = Math.hypot(east, north);
  const turn = times([[east, north], [north, -east]], 1 / range ** 2), bent = sandwich(turn, covariance), root = rootOf(bent);
  return turns.map((one) => {
    const [c, s] = [reach * Math.cos(one), reach * Math.sin(one)];
    const far = range * Math.exp(root[0][0] * c + root[0][1] * s), azimuth = Math.atan2(east, north) + root[1][0] * c + root[1][1] * s;
    return [origin[0] + far * Math.sin(azimuth), origin[1] + far * Math.cos(azimuth)];
  });
}

function sandwich(m, a) {
  const half = [0, 1].map((i) => [0, 1].map((j) => m[i][0] * a[0][j] + m[i][1] * a[1][j]));
  return [0, 1].map((i) => [0, 1].map((j) => half[i][0] * m[j][0] + half[i][1] * m[j][1]));
}

/** The matrix that turns unit scatter into that of a covariance. */
export function rootOf(covariance) {
  const more = LEAST_WIDTH2 * (covariance[0][0] + covariance[1][1]);
  const first = Math.sqrt(covariance[0][0] + more), second = covariance[1][0] / first;
  return [[first, 0], [second, Math.sqrt(Math.max(0, covariance[1][1] + more - second ** 2))]];
}
