// One person's own figures, and the frames: the walker's own paces and compass, and metres on the map.
import { complain } from "./complaints.js";
import { different } from "./complaints.js";

const ASSUMED_PACE_M = 1.5;

/** A walker as the page carries it: what is not given stands at the laptop's default. */
export class Walker {
  constructor(figures) {
    this.kind = "Walker";
    this.name = figures.name;
    this.per_100_m = figures.per_100_m;
    this.compass = figures.compass;
    this.count = figures.count;
    this.classes = figures.classes;
  }

  pace_m() {
    if (this.per_100_m === null) throw complain("pace_m", 0);
    return 100 / this.per_100_m;
  }

  /** The class of the pace table for a leg, the closest that it holds; null for ordinary ground. */
  pace_class(ground, slope) {
    const mine = this.classes.filter((one) => one.ground === (ground || ""));
    for (const wanted of [slope, null, "level"]) {
      const found = mine.find((one) => one.slope === wanted);
      if (found) return found;
    }
    if (ground === null) return null;
    if (mine.length) {
      const held = different(mine.map((one) => (one.slope === null ? "None" : one.slope))).sort().join(", ");
      throw complain("pace_class", 0, { ground, held });
    }
    const known = different(this.classes.map((one) => one.ground).filter(Boolean)).sort().join(", ") || "none";
    throw complain("pace_class", 1, { ground, known });
  }
}

export function walkerFrame(heading, walker) {
  const metres = heading.count_unit === "metres";
  return frame({
    kind: "walker", unit: metres ? "metre" : "pace", azimuth_reference: heading.azimuth_reference, turn_deg: 0,
    units_per_count: heading.count_unit === "steps" ? 0.5 : 1,
    units_per_pace: metres ? paceOf(walker) : 1, bias_sd_deg: 0, scale_sd: 0, leg_bias_deg: 0,
  });
}

export function mapFrame(heading, walker) {
  const pace = heading.count_unit === "metres" ? paceOf(walker) : walker.pace_m();
  const per = heading.count_unit === "metres" ? 1 : heading.count_unit === "steps" ? pace / 2 : pace;
  const toTrue = heading.azimuth_reference === "magnetic" && heading.declination_deg !== null;
  return frame({
    kind: "map", unit: "metre", azimuth_reference: toTrue ? "true" : heading.azimuth_reference,
    turn_deg: toTrue ? heading.declination_deg : 0, units_per_count: per, units_per_pace: pace,
    bias_sd_deg: walker.compass.bias_sd_deg, scale_sd: walker.count.scale_sd_pct / 100,
    leg_bias_deg: walker.compass.bias_deg,
  });
}

const frame = (told) => ({ ...told, leg_turn_deg: told.turn_deg + told.leg_bias_deg });

/** A pace in metres; of a walker never measured five feet. */
export const paceOf = (walker) => (walker.per_100_m ? walker.pace_m() : ASSUMED_PACE_M);

export function unitsPerMetre(walker, frame) {
  return frame.unit === "metre" ? 1 : 1 / paceOf(walker);
}

/** The length of a pace on a class of ground over that of the ordinary pace. */
export function classRatio(one, walker) {
  if (walker.per_100_m === null) throw complain("class_ratio", 0, { pace_class: one });
  return walker.per_100_m / one.per_100_m;
}

export function classRatioSd(one, walker) {
  if (one.per_100_m === walker.per_100_m) return 0;
  if (one.per_100_m_sd > 0) return one.per_100_m_sd / one.per_100_m;
  if (one.runs > 0) return walker.count.count_sd_pct / 100 / Math.sqrt(one.runs);
  return walker.count.scale_sd_pct / 100;
}

export const classErrorName = (one) => ["ground", one.ground, one.slope].filter(Boolean).join(" ");
