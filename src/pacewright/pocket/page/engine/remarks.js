// The bracketed remarks: what each means, to and from text.
import { firstWord, strip, toNumber, words } from "./py.js";
import { complain, Complaint } from "./complaints.js";
import { formatAzimuth, parseAzimuth, plainMarks } from "./compass.js";
import { findMeant } from "./meant.js";

const GAP = "[\\t-\\r\\x1c-\\x20\\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]";
const SOLID = GAP.replace("[", "[^");
const BRACKET = /\[([^[\]]*)\]/g;
const NUMBER = "(\\p{Nd}{1,6}(?:[.,]\\p{Nd}{1,6})?)";
const DEGREES_AND_MINUTES = /^(\p{Nd}{1,2})°(\p{Nd}{1,2})'$/u, pointed = (number) => toNumber(number.replace(",", "."));
const whole = (pattern, flags = "") => new RegExp(`^(?:${pattern})$`, `u${flags}`);
const BOX = whole(`(right|left)${GAP}+${NUMBER}`, "i"), PER_CENT = whole(`${NUMBER}${GAP}*%`), STEEP = whole(`${NUMBER}${GAP}*(%|deg|°)`), BARE = whole(NUMBER);
const ALT = whole(`(-?\\p{Nd}{1,5}(?:[.,]\\p{Nd}{1,3})?)${GAP}*(m|ft)`, "i"), ALT_BARE = whole("-?\\p{Nd}+(\\.\\p{Nd}+)?");
const WAS_AT = whole(`at${GAP}+(${SOLID}.*)`, "i");
const WAS_SEE = whole(`(.*${SOLID}${GAP}+see${GAP}+${SOLID}.*)`, "i");
const WAS_OF = whole(`(.*${SOLID})${GAP}+(count|back)`, "i");
const MAY_BE = whole(`(${SOLID}[^]*?)(?:${GAP}+(count))?${GAP}+(\\p{Nd}{1,3}(?:\\.\\p{Nd}{1,3})?)${GAP}*%`, "i");
const MAY_BE_COUNT = whole("\\p{Nd}{1,6}(?:\\.\\p{Nd}{1,6})?");
const DEFAULT_ESTIMATE_SD_PCT = 20, FEET_M = 0.3048, STEEPEST_PCT = 500;

/** The remarks in a row's notes, in order. @param {string} notes @param {string} unit @returns {any[]} */
export function parseRemarks(notes, unit) {
  if (!notes.includes("[")) return [];
  const found = [...notes.matchAll(BRACKET)].map((match) => parseOne(match[1], unit));
  if (notes.replace(BRACKET, "").includes("[")) throw complain("parse_remarks", 0);
  return found;
}

/** The notes without their remarks. */
export function prose(notes) {
  const bare = notes.replace(BRACKET, " ").replace(new RegExp(`${GAP}+`, "gu"), " ");
  return bare.replace(/^[ ;,]+|[ ;,]+$/g, "");
}

function parseOne(inside, unit) {
  let refused = null;
  try {
    const remark = understood(inside, unit);
    if (remark) return remark;
  } catch (wrong) {
    // `[back azimuth 126]` begins as a remark does, and goes on in other words.
    if (!(wrong instanceof Complaint && wrong.kind === "ValueComplaint" && /^(?:back|faces)/.test(inside.toLowerCase()))) throw wrong;
    refused = wrong;
  }
  const letters = [...inside];
  const shown = letters.length <= 40 ? inside : `${letters.slice(0, 37).join("")}...`;
  const unknown = complain("_parse_one", 0, { shown }), meant = findMeant(inside, (text) => isRemark(text, unit));
  if (meant) throw complain("_parse_one", 1, { unknown, meant });
  throw refused ?? unknown;
}

function understood(inside, unit) {
  const told = firstWord(inside);
  const word = told.length ? told[0].toLowerCase() : "", rest = told.length > 1 ? strip(told[1]) : "";
  return Object.hasOwn(READERS, word) ? READERS[word](rest, unit) : null;
}

function isRemark(inside, unit) {
  try {
    return understood(inside, unit) !== null;
  } catch (wrong) {
    if (!(wrong instanceof Complaint)) throw wrong;
    return false;
  }
}

const named = (kind) => (rest) => (rest ? { kind, name: words(rest).join(" ") } : null);
const bare = (remark) => (rest) => (rest ? null : remark);
const stream = (kind) => (rest) => (rest.toLowerCase() === "stream" ? { kind } : null);

function back(rest, unit) {
  return rest ? { kind: "BackReading", azimuth_deg: parseAzimuth(rest, unit), text: rest } : null;
}

function box(rest) {
  const match = BOX.exec(rest);
  return match ? { kind: "Box", side: match[1].toLowerCase(), offset: pointed(match[2]), text: match[2] } : null;
}

function est(rest) {
  if (!rest) return { kind: "Estimated", sd_pct: DEFAULT_ESTIMATE_SD_PCT, text: null };
  const match = PER_CENT.exec(rest);
  if (!match) return null;
  const sd_pct = pointed(match[1]);
  if (!(sd_pct > 0 && sd_pct <= 100)) throw complain("_est", 0, { rest });
  return { kind: "Estimated", sd_pct, text: match[1] };
}

function lieOn(rest) {
  const word = rest.toLowerCase();
  return ["ridge", "slope", "stream"].includes(word) ? { kind: "StationOn", feature: word } : null;
}

function slope(rest) {
  const slope_pct = slopePct(rest);
  if (slope_pct === null) {
    if (BARE.test(rest)) throw complain("_slope", 0, { rest });
    return null;
  }
  if (slope_pct > STEEPEST_PCT) throw complain("_slope", 1, { rest });
  return { kind: "Steepness", slope_pct, text: rest };
}

function slopePct(rest) {
  const match = STEEP.exec(rest);
  if (match && match[2] === "%") return pointed(match[1]);
  const parts = DEGREES_AND_MINUTES.exec(plainMarks(strip(rest.replace(/deg$/, ""))));
  let degrees;
  if (match) degrees = pointed(match[1]);
  // Dashes alone may part two slopes.
  else if (parts && /°|deg/.test(rest)) degrees = toNumber(parts[1]) + toNumber(parts[2]) / 60;
  else return null;
  return 100 * Math.tan((Math.min(degrees, 89.9) * Math.PI) / 180);
}

function faces(rest, unit) {
  return rest ? { kind: "Faces", azimuth_deg: parseAzimuth(rest, unit), text: rest } : null;
}

function alt(rest) {
  const match = ALT.exec(rest);
  if (!match) {
    if (ALT_BARE.test(rest)) throw complain("_alt", 0, { rest });
    return null;
  }
  const value = pointed(match[1].replace("-", "")) * (match[1].startsWith("-") ? -1 : 1);
  return { kind: "Altitude", altitude_m: match[2].toLowerCase() === "m" ? value : value * FEET_M, text: rest };
}

function time(rest) {
  const match = /^(\d{1,2}):(\d{2})$/.exec(rest);
  if (!match) return null;
  const hours = Number(match[1]), minutes = Number(match[2]);
  if (hours > 23 || minutes > 59) throw complain("_time", 0, { rest });
  return { kind: "Time", minutes: 60 * hours + minutes, text: rest };
}

function was(rest) {
  if (!rest) return null;
  const at = WAS_AT.exec(rest);
  if (at) return { kind: "Was", column: "at", text: words(at[1]).join(" ") };
  const see = WAS_SEE.exec(rest);
  if (see) return { kind: "Was", column: "see", text: words(see[1]).join(" ") };
  const match = WAS_OF.exec(rest);
  if (!match) return { kind: "Was", column: "azimuth", text: rest };
  return { kind: "Was", column: match[2].toLowerCase() === "count" ? "count" : "back", text: match[1] };
}

function mayBe(rest, unit) {
  const match = rest ? MAY_BE.exec(rest) : null;
  if (!match || (match[2] && !MAY_BE_COUNT.test(match[1]))) return null;
  const text = match[1], chance_text = match[3], chance_pct = toNumber(chance_text);
  if (!(chance_pct > 0 && chance_pct < 100)) throw complain("parse_doubt", 0, { rest });
  const column = match[2] ? "count" : "azimuth", value = match[2] ? toNumber(text) : parseAzimuth(text, unit);
  return { kind: "MayBe", column, text, value, chance_pct, chance_text };
}

/** Refuse chances of other numbers that leave none to the number that is written. */
export function checkDoubts(remarks) {
  const left = { azimuth: 100, count: 100 };
  for (const one of remarks) if (one.kind === "MayBe") left[one.column] -= one.chance_pct;
  if (Math.min(left.azimuth, left.count) <= 0) throw complain("check_doubts", 0).at({ column: "notes" });
}

const READERS = {
  at: named("At"), see: named("See"), back, box, est, ground: named("Ground"),
  up: bare({ kind: "LegSlope", slope: "up" }), level: bare({ kind: "LegSlope", slope: "level" }),
  down: bare({ kind: "LegSlope", slope: "down" }), cross: stream("CrossStream"), no: stream("NoStream"), on: lieOn,
  in: (rest) => (rest.toLowerCase() === "valley" ? { kind: "StationOn", feature: "valley" } : null),
  faces, flat: bare({ kind: "Flat" }), slope, alt, time, was, or: mayBe,
};

/** A remark as it stands in the notes. */
export function formatRemark(one) {
  return `[${inside(one)}]`;
}

function inside(one) {
  switch (one.kind) {
    case "At": return `at ${one.name}`;
    case "See": return `see ${one.name}`;
    case "BackReading": return `back ${one.text}`;
    case "Box": return `box ${one.side} ${one.text}`;
    case "Estimated": return one.text === null ? "est" : `est ${one.text}%`;
    case "Ground": return `ground ${one.name}`;
    case "LegSlope": return one.slope;
    case "CrossStream": return "cross stream";
    case "NoStream": return "no stream";
    case "StationOn": return one.feature === "valley" ? "in valley" : `on ${one.feature}`;
    case "Faces": return `faces ${one.text}`;
    case "Flat": return "flat";
    case "Steepness": return `slope ${one.text}`;
    case "Altitude": return `alt ${one.text}`;
    case "Time": return `time ${one.text}`;
    case "MayBe": return `or ${one.text}${one.column === "count" ? " count" : ""} ${one.chance_text}%`;
    case "Was":
      if (one.column === "at") return `was at ${one.text}`;
      return ["azimuth", "see"].includes(one.column) ? `was ${one.text}` : `was ${one.text} ${one.column}`;
    default: throw new Complaint("FormatComplaint", `${one.kind} is no remark`, "Leave it out");
  }
}

export function backReading(azimuth_deg, unit) {
  const text = formatAzimuth(azimuth_deg, unit);
  return { kind: "BackReading", azimuth_deg: parseAzimuth(text, unit), text };
}
