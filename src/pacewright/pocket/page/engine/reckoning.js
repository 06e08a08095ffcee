// Legs to stations with covariance, in either frame.
import { strip, PY } from "./py.js";
import { different } from "./complaints.js";
import { unitVector } from "./compass.js";
import { classErrorName, classRatio, classRatioSd } from "./walker.js";
import { outer, plus, minus, times, zero } from "./matrix.js";

const POINT_INTERVAL_DEG = 22.5;
const RAD = Math.PI / 180;

export class Reckoning {
  /** @param {any} told */
  constructor(told) {
    this.frame = told.frame;
    this.names = told.names;
    this.azimuth_deg = told.azimuth_deg;
    this.length = told.length;
    this.place = told.place;
    this.own = told.own;
    this.own_sum = told.own_sum;
    this.turn_variance_rad2 = told.turn_variance_rad2;
    this.shared = told.shared;
    this.remarks = told.remarks;
    /** Covariance of every station where the log was cut at its markers; else null. */
    this.held = told.held;
  }

  get last() { return this.names.length - 1; }
  get ground_terms() { return this.shared.filter((term) => !["compass bias", "pace scale"].includes(term.name)); }

  covariance(station) {
    return this.held ? this.held[station] : this.relative_covariance(0, station);
  }

  covariances() { return this.names.map((_, k) => this.covariance(k)); }

  /** Of one station as seen from another, by the legs alone. */
  relative_covariance(origin, station) {
    const [low, high] = origin < station ? [origin, station] : [station, origin];
    let total = minus(this.own_sum[high], this.own_sum[low]);
    for (const term of this.shared) {
      const [a, b] = [term.lever[origin], term.lever[station]], step = [b[0] - a[0], b[1] - a[1]];
      total = plus(total, times(outer(step, step), term.variance));
    }
    return total;
  }
}

/** Where the stations of a log lie from its start, and how sure that is. @returns {any} */
export function reckon(log, walker, frame) {
  const legs = log.legs, [classes, remarks] = classesOf(log, walker);
  const ratio = classes.map((one) => (one === null ? 1 : classRatio(one, walker)));
  const azimuth_deg = legs.map((leg) => turnedBy(leg.azimuth_deg, frame.leg_turn_deg));
  const length = legs.map((leg, i) => leg.count * frame.units_per_count * ratio[i]);
  const steps = azimuth_deg.map((azimuth, i) => unitVector(azimuth).map((part) => part * length[i]));
  const turn_variance_rad2 = legs.map((leg) => turnVariance(leg, walker));
  const own = legs.map((leg, i) => ownCovariance(leg, walker, frame, length[i], ratio[i], azimuth_deg[i], turn_variance_rad2[i]));
  const place = summed(steps), shared = [];
  if (frame.bias_sd_deg > 0) {
    const lever = place.map(([east, north]) => [north, -east]);
    shared.push({ name: "compass bias", variance: (frame.bias_sd_deg * RAD) ** 2, lever });
  }
  if (frame.scale_sd > 0) shared.push({ name: "pace scale", variance: frame.scale_sd ** 2, lever: place });
  for (const one of different(classes.filter(Boolean))) {
    const lever = summed(steps.map((step, i) => (classes[i] === one ? step : [0, 0])));
    shared.push({ name: classErrorName(one), variance: classRatioSd(one, walker) ** 2, lever });
  }
  const own_sum = [zero()];
  for (const one of own) own_sum.push(plus(own_sum[own_sum.length - 1], one));
  return new Reckoning({
    frame, names: log.station_names(), azimuth_deg, length, place, own, own_sum, turn_variance_rad2, shared, remarks,
    held: null,
  });
}

function turnedBy(azimuth, turn) {
  if (turn === 0) return azimuth;
  const sum = (azimuth + turn) % 360, whole = sum < 0 ? sum + 360 : sum;
  return whole >= 360 ? 0 : whole;
}

function summed(steps) {
  const places = [[0, 0]];
  for (const [east, north] of steps) {
    // The first place is the step itself: -0 stays what it is, as on the laptop.
    const [e, n] = places.length > 1 ? places[places.length - 1] : [-0, -0];
    places.push([e + east, n + north]);
  }
  return places;
}

/** Variances along and across an azimuth as a covariance. */
function spread(azimuth, alongVariance, acrossVariance) {
  const [east, north] = unitVector(azimuth);
  return plus(times(outer([east, north], [east, north]), alongVariance), times(outer([north, -east], [north, -east]), acrossVariance));
}

function countVariance(length, walker, frame, unit) {
  const sd = Math.max((walker.count.count_sd_pct / 100) * length, walker.count.count_floor * frame.units_per_pace);
  return (length > 0 ? sd ** 2 : 0) + unit ** 2 / 12;
}

function turnVariance(leg, walker) {
  const byPoint = PY.isalpha(strip(leg.cells.azimuth));
  const interval = walker.compass.reading_interval_deg;
  const step = byPoint ? Math.max(interval, POINT_INTERVAL_DEG) : interval;
  return RAD ** 2 * (walker.compass.azimuth_sd_deg ** 2 + step ** 2 / 12);
}

function ownCovariance(leg, walker, frame, length, ratio, azimuth, turn) {
  const unit = frame.units_per_count * ratio, estimate = leg.find("Estimated");
  const alongVariance = estimate
    ? ((estimate.sd_pct / 100) * length) ** 2 + unit ** 2 / 12
    : countVariance(length, walker, frame, unit);
  let own = spread(azimuth, alongVariance, turn * length ** 2);
  for (const box of leg.boxes) own = plus(own, boxCovariance(azimuth, box.offset * unit, walker, frame));
  return own;
}

/** What walking one leg by azimuth and count adds. */
export function walkedCovariance(azimuth, length, walker, frame) {
  const variance = countVariance(length, walker, frame, frame.units_per_count);
  return spread(azimuth, Math.sqrt(variance) ** 2, (walkedTurnSdDeg(walker) * RAD * length) ** 2);
}

export const walkedTurnSdDeg = (walker) => Math.hypot(walker.compass.azimuth_sd_deg, walker.compass.reading_interval_deg / Math.sqrt(12));

export function boxCovariance(azimuth, offset, walker, frame) {
  return times(walkedCovariance(azimuth + 90, offset, walker, frame), 2);
}

function classesOf(log, walker) {
  const metres = log.heading.count_unit === "metres";
  if (walker.classes.length && !metres) {
    return [log.legs.map((leg) => (leg.remarks.length ? walker.pace_class(leg.ground, leg.slope) : null)), []];
  }
  return [log.legs.map(() => null), _ground_not_told(log)];
}
