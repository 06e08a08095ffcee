// The way back leg by leg: the log turned round, with its boxings and remarks.
import { FMT, PY, strip } from "./py.js";
import { backAzimuth, formatAzimuth, fromDegrees } from "./compass.js";
import { composeLog, parseRow } from "./log.js";
import { backReading, formatRemark, prose } from "./remarks.js";
import { wholeCount } from "./tally.js";
import { classRatio, walkerFrame } from "./walker.js";
import { outer, plus, times, zero } from "./matrix.js";
import { boxCovariance, reckon, walkedCovariance } from "./reckoning.js";
import { TURNED_SLOPE } from "./way.js";

const OF_STATION = ["StationOn", "Faces", "Flat", "Steepness", "Altitude"];
const KEPT = ["Estimated", "Ground", "CrossStream", "NoStream"];

/** The log of walking back over some legs. */
export function retrace(log, walker, over) {
  const stations = stationsOf(log), unit = log.heading.azimuth_unit, first = over[0];
  const here = first.is_back ? first.leg : first.leg - 1;
  const heading = {
    ...log.heading, title: log.heading.title ? `Way back over ${log.heading.title}` : "Way back", date: null,
    start: stations[here].name, assumed: [],
  };
  const rows = /** @type {any[]} */ ([]);
  if (first.is_back && stations[here].remarks.length) {
    const notes = stations[here].remarks.map(formatRemark).join(" ");
    rows.push(parseRow({ azimuth: "", count: "", notes }, heading));
  }
  rows.push(...stations[here].rows);
  for (const one of over) {
    const leg = log.legs[one.leg - 1], reached = stations[one.is_back ? one.leg - 1 : one.leg];
    rows.push(one.is_back ? turnedLeg(leg, reached, heading, walker, unit) : parseRow(leg.cells, heading), ...reached.rows);
  }
  return composeLog(heading, rows);
}

function stationsOf(log) {
  const stations = /** @type {any[]} */ ([{ name: log.heading.start, remarks: [], rows: [] }]);
  for (const row of log.rows) {
    if (row.kind === "Leg") {
      stations.push({ name: row.at_name, remarks: row.remarks.filter((one) => OF_STATION.includes(one.kind)), rows: [] });
    } else stations[stations.length - 1].rows.push(row);
  }
  return stations;
}

function turnedLeg(leg, reached, heading, walker, unit) {
  /** @type {any[]} */
  const remarks = reached.name ? [{ kind: "At", name: reached.name }] : [];
  remarks.push(...[...leg.remarks].reverse().map(turnedRemark).filter(Boolean));
  let words = prose(leg.cells.notes);
  const read = leg.find("BackReading"), trim = (text) => PY.rstrip(text, "; ");
  if (read) {
    remarks.push(backReading(leg.azimuth_deg, unit));
    words = trim(`read back ${read.text}; ${words}`);
  }
  remarks.push(...reached.remarks);
  const count = countBack(leg, heading, walker);
  if (count !== leg.cells.count) words = trim(`${leg.cells.count} ${heading.count_unit}; ${words}`);
  const notes = [...remarks.map(formatRemark), ...(words ? [`(out: ${words})`] : [])].join(" ");
  return parseRow({ azimuth: formatAzimuth(backAzimuth(leg.azimuth_deg), unit, decimalsOf(leg, unit)), count, notes }, heading);
}

function countBack(leg, heading, walker) {
  if (!walker.classes.length || leg.slope === null || heading.count_unit === "metres") return leg.cells.count;
  const out = walker.pace_class(leg.ground, leg.slope), back = walker.pace_class(leg.ground, TURNED_SLOPE[leg.slope]);
  if (out === back) return leg.cells.count;
  const [outRatio, backRatio] = [out, back].map((one) => (one === null ? 1 : classRatio(one, walker)));
  return String(wholeCount((leg.count * outRatio) / backRatio));
}

function turnedRemark(one) {
  if (one.kind === "Box") return { ...one, side: one.side === "right" ? "left" : "right" };
  if (one.kind === "LegSlope") return { ...one, slope: TURNED_SLOPE[one.slope] };
  return KEPT.includes(one.kind) ? one : null;
}

function decimalsOf(leg, unit) {
  const written = strip(leg.cells.azimuth).replaceAll(",", ".");
  if (PY.isdecimal(written.replace(".", ""))) return PY.partition(written, ".")[2].length;
  const reading = fromDegrees(leg.azimuth_deg, unit);
  for (let decimals = 0; decimals < 4; decimals += 1) {
    if (Math.abs(Number(FMT(reading, `.${decimals}f`)) - reading) < 1e-9) return decimals;
  }
  return 4;
}

/** Of where the walker will stand after retracing, with no marker met between. */
export function retraceCovariance(log, walker, over, backLog) {
  const frame = walkerFrame(log.heading, walker), out = reckon(log, walker, frame), back = reckon(backLog, walker, frame);
  let total = over.reduce((sum, one) => plus(sum, out.own[one.leg - 1]), zero());
  for (const { leg } of over) {
    const azimuth = out.azimuth_deg[leg - 1], length = out.length[leg - 1], row = log.legs[leg - 1];
    total = plus(total, walkedCovariance(azimuth, length, walker, frame));
    const paced = row.count ? length / row.count : frame.units_per_count;
    for (const box of row.boxes) total = plus(total, boxCovariance(azimuth, box.offset * paced, walker, frame));
  }
  for (const name of new Set([...out.shared, ...back.shared].map((term) => term.name))) {
    total = plus(total, leftShared(name, out, back, over));
  }
  return total;
}

function leftShared(name, out, back, over) {
  let off = [0, 0], variance = 0;
  for (const term of out.shared.filter((one) => one.name === name)) {
    variance = term.variance;
    for (const one of over) {
      const sign = one.is_back ? -1 : 1, [a, b] = [term.lever[one.leg - 1], term.lever[one.leg]];
      off = [off[0] + sign * (b[0] - a[0]), off[1] + sign * (b[1] - a[1])];
    }
  }
  for (const term of back.shared.filter((one) => one.name === name)) {
    const end = term.lever[term.lever.length - 1];
    off = [off[0] - end[0], off[1] - end[1]];
    variance = term.variance;
  }
  return times(outer(off, off), variance);
}
