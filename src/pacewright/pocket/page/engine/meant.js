// Which remark a wrong one was meant to be: other words for it, its parts turned round, a slip of the pen.
import { casefold, strip, toNumber, words } from "./py.js";

const GAP = "[\\t-\\r\\x1c-\\x20\\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]";
const made = (pattern, flags = "") => new RegExp(pattern.replaceAll("\\s", GAP).replaceAll("\\d", "\\p{Nd}"), `u${flags}`);
const SIDE = { r: "right", rt: "right", l: "left", lt: "left" };
const UNITS = made("(?<=\\d)\\s*paces?\\b", "gi");
const FILLERS = made("^(?:(?:azimuth|bearing|reading|to|the|of|by|side|about|at)\\b\\s*)+", "i");
const COLON = made("(\\d) : (\\d)", "g"), SHARE = made("\\s*(?:%|per ?cent|pct|percent)?$");
const METRES = made("\\s*(?:met(?:re|er)s?)$"), FEET = made("\\s*(?:foot|feet|')$");
const TIME = made("^(\\d{1,2})[:.h]?(\\d{2})?\\s*(am|pm|h|hrs|o'clock)?$"), NUMBER = made("^\\d+(?:\\.\\d+)?$");
const LONGEST = 60;

/** The remark that was most likely meant; null where none is near.
 * @param {string} inside @param {(text: string) => boolean} isRemark @returns {string | null} */
export function findMeant(inside, isRemark) {
  if ([...inside].length > LONGEST) return null;
  const apart = words(inside.replaceAll(":", " : ")).join(" ");
  const bare = apart.replace(COLON, "$1:$2").replaceAll(" :", "").replace(/^[ =;,.]+|[ =;,.]+$/g, "");
  if (!bare) return null;
  for (const one of candidates(bare)) if (isRemark(one)) return one;
  return null;
}

function* candidates(bare) {
  for (const text of inKnownWords(bare)) {
    const at = text.indexOf(" "), first = at < 0 ? text : text.slice(0, at), rest = at < 0 ? "" : text.slice(at + 1);
    for (const plain of [rest.replace(FILLERS, ""), rest]) {
      yield strip(`${first} ${plain}`);
      yield* withMarks(first, plain);
    }
  }
}

function* inKnownWords(bare) {
  const split = words(bare), first = casefold(split[0]).replaceAll("-", ""), rest = split.slice(1).join(" ");
  yield bare;
  for (const [remark, others] of Object.entries(FIRST_WORDS)) {
    if (words(others).includes(first)) {
      yield strip(`${remark} ${rest}`);
      yield remark;
    }
  }
  const mine = split.map(casefold);
  for (const [whole, others] of Object.entries(WHOLE_REMARKS)) if (words(others).some((one) => mine.includes(one))) yield whole;
  const known = [...Object.keys(FIRST_WORDS), ...Object.keys(WHOLE_REMARKS)];
  const near = closest(first, known.map((one) => words(one)[0]), 0.7);
  if (near !== null) yield strip(`${near} ${rest}`);
  const like = closest(casefold(bare), known, 0.8);
  if (like !== null) yield like;
}

function* withMarks(first, rest) {
  if (["est", "slope", "or"].includes(first)) yield `${first} ${rest.replace(/^[-+± ]+|[-+± ]+$/gu, "").replace(SHARE, "")}%`;
  if (first === "alt") {
    yield `alt ${rest}`.replace(METRES, " m");
    yield `alt ${rest}`.replace(FEET, " ft");
  }
  if (first === "time") yield* times(rest);
  if (first === "box") yield* boxes(rest);
}

function* times(rest) {
  const found = TIME.exec(casefold(rest).replaceAll(" ", ""));
  if (!found) return;
  const hour = toNumber(found[1]), half = ["am", "pm"].includes(found[3]);
  yield `time ${half ? (hour % 12) + (found[3] === "pm" ? 12 : 0) : hour}:${found[2] || "00"}`;
}

function* boxes(rest) {
  const told = words(casefold(rest).replace(UNITS, "")).map((one) => SIDE[one] ?? one);
  const sides = told.filter((one) => one === "right" || one === "left"), numbers = told.filter((one) => NUMBER.test(one));
  if (told.length === 2 && sides.length === 1 && numbers.length === 1) yield `box ${sides[0]} ${numbers[0]}`;
}

/** The likest of some words, by twice the letters they share in order over all they have; ties to the later in the alphabet. */
function closest(word, known, least) {
  let best = /** @type {[number, string] | null} */ (null);
  for (const one of known) {
    const a = [...one], b = [...word], total = a.length + b.length;
    const ratio = total ? (2 * shared(a, b)) / total : 1;
    if (ratio >= least && (!best || ratio > best[0] || (ratio === best[0] && one > best[1]))) best = [ratio, one];
  }
  return best && best[1];
}

/** Letters in the longest common piece, and in those to its left and right. @returns {number} */
function shared(a, b) {
  let size = 0, from = 0, to = 0, before = new Map();
  a.forEach((letter, i) => {
    const here = new Map();
    b.forEach((other, j) => {
      if (other !== letter) return;
      const run = (before.get(j - 1) ?? 0) + 1;
      here.set(j, run);
      if (run > size) [size, from, to] = [run, i - run + 1, j - run + 1];
    });
    before = here;
  });
  if (!size) return 0;
  return size + shared(a.slice(0, from), b.slice(0, to)) + shared(a.slice(from + size), b.slice(to + size));
}
