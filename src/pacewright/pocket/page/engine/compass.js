// Azimuths: in degrees clockwise from their north, 0 <= azimuth < 360.
import { rint, strip, toNumber } from "./py.js";
import { complain } from "./complaints.js";

export const FULL_CIRCLE = { degrees: 360, mils: 6400, gon: 400 };
const POINTS = "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW".split(" ");
const LONGEST_READING = 60;
const NUMBER = /^(?:\p{Nd}+(?:\.\p{Nd}*)?|\.\p{Nd}+)$/u;
const GAP = "[\\t-\\r\\x1c-\\x20\\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]*";
const PART = "\\p{Nd}+(?:\\.\\p{Nd}+)?";
const SEXAGESIMAL = new RegExp(
  `^(?<deg>${PART})${GAP}°?${GAP}(?:(?<min>${PART})${GAP}['′]${GAP})?(?:(?<sec>${PART})${GAP}(?:"|″|'')${GAP})?$`,
  "u",
);
const QUADRANT = new RegExp(`^(?<ns>[NS])${GAP}(?<angle>[\\p{Nd}.][^EWew]*?)${GAP}(?<ew>[EW])$`, "iu");

export function normalAzimuth(azimuth) {
  let turned = azimuth % 360;
  if (turned < 0) turned += 360;
  return turned >= 360 || turned === 0 ? 0 : turned;
}

export const backAzimuth = (azimuth) => normalAzimuth(normalAzimuth(azimuth) + 180);

export function turnDeg(from, to) {
  const turned = normalAzimuth(to - from);
  return turned > 180 ? turned - 360 : turned;
}

/** East and north of one unit along an azimuth, exact at every quarter circle. @returns {[number, number]} */
export function unitVector(azimuth) {
  const quarter = rint(azimuth / 90), rest = ((azimuth - 90 * quarter) * Math.PI) / 180;
  const sine = Math.sin(rest), cosine = Math.cos(rest), turn = ((quarter % 4) + 4) % 4;
  const east = [sine, cosine, -sine, -cosine][turn], north = [cosine, -sine, -cosine, sine][turn];
  return [east + 0, north + 0];
}

export const directionDeg = (east, north) => normalAzimuth((Math.atan2(east, north) * 180) / Math.PI);
export const toDegrees = (value, unit) => (unit === "degrees" ? value : (value * 360) / FULL_CIRCLE[unit]);
export const fromDegrees = (azimuth, unit) => (unit === "degrees" ? azimuth : (azimuth * FULL_CIRCLE[unit]) / 360);

/** The azimuth that a reading stands for, in degrees. @param {string} text @param {string} unit @returns {number} */
/** The angle with straight marks: curly ones made straight, dashes made degrees, minutes and seconds. */
export function plainMarks(text) {
  const straight = text.replace(/[º˚]/g, "°").replace(/[’‘]/g, "'").replace(/[”“]/g, '"');
  const dashed = /^(\P{Nd}*)(\p{Nd}{1,3})\s*[-–]\s*(\p{Nd}{1,2})(?:\s*[-–]\s*(\p{Nd}{1,2}(?:\.\p{Nd}+)?))?(\P{Nd}*)$/u.exec(straight);
  if (!dashed) return straight;
  return `${dashed[1]}${dashed[2]}°${dashed[3]}'${dashed[4] ? `${dashed[4]}"` : ""}${dashed[5]}`;
}

/** The text with the decimal commas of its numbers made points; three digits may be thousands and stay. */
export const decimalPoint = (text) => text.replace(/(?<=\p{Nd}),(?=\p{Nd}{1,2}(?!\p{Nd}))/gu, ".");

export function parseAzimuth(text, unit = "degrees") {
  let bare = strip(text);
  if ([...bare].length > LONGEST_READING) throw noAzimuth(bare, unit);
  bare = decimalPoint(plainMarks(bare));
  if (NUMBER.test(bare)) return bounded(toNumber(bare), bare, unit);
  const point = POINTS.indexOf(bare.toUpperCase());
  if (point >= 0) return 22.5 * point;
  const quadrant = QUADRANT.exec(bare);
  if (quadrant) return quadrantAzimuth(quadrant.groups, bare);
  const angle = unit === "degrees" ? sexagesimal(bare) : null;
  if (angle !== null) return bounded(angle, bare, unit);
  throw noAzimuth(bare, unit);
}

function bounded(value, text, unit) {
  const full = FULL_CIRCLE[unit];
  if (!(value >= 0 && value <= full)) throw noAzimuth(text, unit);
  return value === full ? 0 : toDegrees(value, unit);
}

function noAzimuth(text, unit) {
  const letters = [...text];
  const shown = letters.length <= 40 ? text : `${letters.slice(0, 37).join("")}...`;
  return complain("_no_azimuth", 0, { shown, unit });
}

function sexagesimal(text) {
  const match = SEXAGESIMAL.exec(text);
  if (!match) return null;
  const { deg, min, sec } = /** @type {any} */ (match.groups);
  const minutes = toNumber(min || "0"), seconds = toNumber(sec || "0");
  const parts = [deg, min, sec].filter(Boolean);
  // Only the last part may be broken: 30.5 degrees and 20 minutes is two readings in one.
  if (minutes >= 60 || seconds >= 60 || parts.slice(0, -1).some((part) => part.includes("."))) return null;
  return toNumber(deg) + minutes / 60 + seconds / 3600;
}

function quadrantAzimuth(groups, text) {
  const angle = sexagesimal(strip(groups.angle));
  if (angle === null || angle > 90) throw complain("_quadrant_azimuth", 0, { text });
  const south = groups.ns.toUpperCase() === "S", west = groups.ew.toUpperCase() === "W";
  return normalAzimuth((south ? 180 : 0) + (south === west ? angle : -angle));
}

/** A reading in a unit, a half up; what would round to the full circle is written 0. */
export function formatAzimuth(azimuth, unit = "degrees", decimals = 0) {
  const scale = 10 ** decimals;
  // The ninth decimal: a half that was worked out in binary is a half all the same.
  const whole = Math.floor(fromDegrees(normalAzimuth(azimuth), unit) * scale + 0.5 + 1e-9);
  const shown = (whole / scale).toFixed(decimals);
  return Number(shown) >= FULL_CIRCLE[unit] ? (0).toFixed(decimals) : shown;
}
