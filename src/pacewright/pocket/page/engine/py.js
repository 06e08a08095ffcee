// What Python does with texts and numbers, where JavaScript does it otherwise: the sentences and the reader of
// the log are held to the laptop's to the letter.

const BLANK = "[\\t-\\r\\x1c-\\x20\\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]";
const STRIP = new RegExp(`^${BLANK}+|${BLANK}+$`, "gu");
const BLANKS = new RegExp(`${BLANK}+`, "u");
const DECIMAL = /^\p{Nd}+$/u;

/** @param {string} text @returns {string} */
export function strip(text) {
  return text.replace(STRIP, "");
}

/** The words of a text. @param {string} text @returns {string[]} */
export function words(text) {
  const bare = strip(text);
  return bare ? bare.split(BLANKS) : [];
}

/** The first word, and the rest without blanks in front. @param {string} text @returns {string[]} */
export function firstWord(text) {
  const bare = text.replace(new RegExp(`^${BLANK}+`, "u"), "");
  if (!bare) return [];
  const at = bare.search(BLANKS);
  if (at < 0) return [bare];
  const rest = bare.slice(at).replace(new RegExp(`^${BLANK}+`, "u"), "");
  return rest ? [bare.slice(0, at), rest] : [bare.slice(0, at)];
}

/** A pattern as Python writes it; it must match the whole text. @returns {RegExp} */
export function PATTERN(source, flags = "") {
  const turned = source
    .replaceAll("(?P<", "(?<")
    .replaceAll("[\\d.,]", "[\\p{Nd}.,]")
    .replaceAll("[\\d.]", "[\\p{Nd}.]")
    .replaceAll("\\d", "\\p{Nd}")
    .replaceAll("\\w", "[\\p{L}\\p{N}_]")
    .replaceAll("\\s", BLANK)
    .replaceAll("\\S", BLANK.replace("[", "[^"))
    .replaceAll("\\D", "\\P{Nd}");
  return new RegExp(`^(?:${turned})$`, `u${flags}`);
}

/** A digit of any script as 0 to 9. */
function digit(letter) {
  let at = letter.codePointAt(0), steps = 0;
  while (/\p{Nd}/u.test(String.fromCodePoint(at - 1))) { at -= 1; steps += 1; }
  return String(steps % 10);
}

/** The number that a text of digits and a point stands for. @param {string} text @returns {number} */
export function toNumber(text) {
  return Number(text.replace(/[^\x00-\x7f]/gu, (letter) => (/\p{Nd}/u.test(letter) ? digit(letter) : letter)));
}

/** The same text whatever the capitals. @param {string} text @returns {string} */
export function casefold(text) {
  return [...text].map((one) => (one === "ı" ? one : one.toUpperCase().toLowerCase())).join("");
}

/** To the nearest whole number, a half to the even one. */
export function rint(number) {
  const whole = Math.floor(number), rest = number - whole;
  if (rest === 0.5) return whole % 2 === 0 ? whole : whole + 1;
  return Math.round(number);
}

/** @param {number} number @param {number} decimals @returns {string} */
export function fixed(number, decimals) {
  const shown = Math.abs(number).toFixed(decimals), sign = number < 0 || Object.is(number, -0) ? "-" : "";
  const digits = Math.abs(number).toFixed(Math.min(100, decimals + 40)).split(".")[1] || "";
  const rest = digits.slice(decimals);
  // Exactly between two: Python takes the even one, toFixed the larger.
  if (/^50*$/.test(rest) && "13579".includes(shown[shown.length - 1])) {
    const unit = 10 ** -decimals;
    return sign + (Number(shown) - unit).toFixed(decimals);
  }
  return sign + shown;
}

function general(number, digits) {
  if (number === 0) return Object.is(number, -0) ? "-0" : "0";
  if (!Number.isFinite(number)) return Number.isNaN(number) ? "nan" : number < 0 ? "-inf" : "inf";
  const exact = Math.max(digits, 1);
  const exponent = Number(number.toExponential(exact - 1).split("e")[1]);
  if (exponent < -4 || exponent >= exact) {
    const [mantissa, power] = number.toExponential(exact - 1).split("e");
    const bare = mantissa.includes(".") ? mantissa.replace(/\.?0+$/, "") : mantissa;
    return `${bare}e${power[0]}${power.slice(1).padStart(2, "0")}`;
  }
  const shown = fixed(number, Math.max(0, exact - 1 - exponent));
  return shown.includes(".") ? shown.replace(/\.?0+$/, "") : shown;
}

/** A value as a format of Python's writes it. */
export function FMT(value, format) {
  const told = /^(\+?)(0?)(\d*)(?:\.(\d+))?([fgd]?)$/.exec(format);
  if (!told) throw new Error(`format ${format}`);
  const [, plus, zero, width, digits, kind] = told;
  let text;
  if (kind === "f") text = fixed(value, digits === undefined ? 6 : Number(digits));
  else if (kind === "g") text = general(value, digits === undefined ? 6 : Number(digits));
  else text = STR(value);
  if (plus && !text.startsWith("-")) text = `+${text}`;
  return width ? text.padStart(Number(width), zero ? "0" : " ") : text;
}

export function STR(value) {
  if (value === null || value === undefined) return "None";
  if (value === true) return "True";
  return value === false ? "False" : String(value);
}

export function LIST(value) {
  if (Array.isArray(value)) return value;
  if (value === null || value === undefined) throw new Error("nothing to go over");
  return typeof value[Symbol.iterator] === "function" ? Array.from(value) : Object.keys(value);
}

export function TRUE(value) {
  if (Array.isArray(value)) return value.length > 0;
  if (value && Object.getPrototypeOf(value) === Object.prototype) return Object.keys(value).length > 0 || "kind" in value;
  return Boolean(value);
}

export const OR = (first, other) => (TRUE(first) ? first : other());
export const AND = (first, other) => (TRUE(first) ? other() : first);

export function EQ(one, other) {
  if (Array.isArray(one) && Array.isArray(other)) {
    return one.length === other.length && one.every((value, at) => EQ(value, other[at]));
  }
  return (one ?? null) === (other ?? null);
}

export function IN(one, many) {
  return typeof many === "string" ? many.includes(one) : LIST(many).some((value) => EQ(value, one));
}

export function IS(value, kinds) {
  const kind = value === null || value === undefined ? undefined : value.kind;
  return LIST(Array.isArray(kinds) ? kinds : [kinds]).some((one) => one === kind);
}

export function ADD(one, other) {
  return Array.isArray(one) ? [...one, ...other] : one + other;
}

export function MUL(one, other) {
  if (Array.isArray(one)) return Array.from({ length: other }, () => one).flat();
  return typeof one === "string" ? one.repeat(other) : one * other;
}

export const FDIV = (one, other) => Math.floor(one / other);
export const MOD = (one, other) => one - other * Math.floor(one / other);

export function AT(value, key) {
  return typeof key === "number" && key < 0 ? value[value.length + key] : value[key];
}

export function SLICE(value, from, to) {
  const letters = typeof value === "string" ? [...value] : LIST(value);
  const part = letters.slice(from ?? 0, to ?? letters.length);
  return typeof value === "string" ? part.join("") : part;
}

export const LEN = (value) => (typeof value === "string" ? [...value].length : LIST(value).length);
export const MAX = (...given) => (given.length === 1 ? Math.max(...LIST(given[0])) : Math.max(...given));
export const MIN = (...given) => (given.length === 1 ? Math.min(...LIST(given[0])) : Math.min(...given));
export const ABS = Math.abs;
export const SUM = (many) => LIST(many).reduce((total, one) => total + Number(one), 0);
export const ZIP = (...many) => LIST(many[0]).map((_, at) => many.map((one) => LIST(one)[at]));
export const ENUMERATE = (many, from = 0) => LIST(many).map((one, at) => [at + from, one]);
export const TUPLE = (many = []) => LIST(many);
export const SORTED = (many) => [...LIST(many)].sort((a, b) => (a < b ? -1 : a > b ? 1 : 0));
export const ROUND = (number, digits = 0) => (digits ? Number(fixed(number, digits)) : rint(number));
export const FLOAT = (value) => (typeof value === "string" ? toNumber(value) : value);
export const INT = (value) => Math.trunc(FLOAT(value));
export const ANY = (many) => LIST(many).some(TRUE);
export const ALL = (many) => LIST(many).every(TRUE);
export const RANGE = (from, to) => Array.from({ length: to === undefined ? from : to - from }, (_, at) => (to === undefined ? at : at + from));
export const REVERSED = (many) => [...LIST(many)].reverse();
export const BOOL = TRUE;
export const SET = (many = []) => [...new Set(LIST(many))];
export const MAP = (change, many) => LIST(many).map((one) => change(one));
export const HYPOT = Math.hypot;
export const FLOOR = Math.floor;
export const CEIL = Math.ceil;
export const RADIANS = (degrees) => (degrees * Math.PI) / 180;
export const DEGREES = (radians) => (radians * 180) / Math.PI;
export const ISCLOSE = (one, other, nearness = 0) => Math.abs(one - other) <= Math.max(1e-9 * Math.max(Math.abs(one), Math.abs(other)), nearness);
export const NORMALIZE = (form, text) => text.normalize(form);
export const FROMKEYS = (many) => [...new Set(LIST(many))];
export const ACCUMULATE = (many) => {
  let total = 0;
  return LIST(many).map((one) => (total += one));
};

/** Methods of Python's texts and lists, the text first. */
export const PY = {
  join: (by, many) => LIST(many).join(by),
  strip: (text, letters) => (letters === undefined ? strip(text) : PY.lstrip(PY.rstrip(text, letters), letters)),
  lstrip: (text, letters) => {
    if (letters === undefined) return text.replace(new RegExp(`^${BLANK}+`, "u"), "");
    let at = 0;
    while (at < text.length && letters.includes(text[at])) at += 1;
    return text.slice(at);
  },
  rstrip: (text, letters) => {
    if (letters === undefined) return text.replace(new RegExp(`${BLANK}+$`, "u"), "");
    let end = text.length;
    while (end > 0 && letters.includes(text[end - 1])) end -= 1;
    return text.slice(0, end);
  },
  lower: (text) => text.toLowerCase(),
  upper: (text) => text.toUpperCase(),
  casefold,
  capitalize: (text) => text.slice(0, 1).toUpperCase() + text.slice(1).toLowerCase(),
  removeprefix: (text, front) => (text.startsWith(front) ? text.slice(front.length) : text),
  removesuffix: (text, end) => (end && text.endsWith(end) ? text.slice(0, -end.length) : text),
  replace: (text, one, other) => text.replaceAll(one, other),
  split: (text, by) => (by === undefined ? words(text) : text.split(by)),
  startsWith: (text, front) => text.startsWith(front),
  startswith: (text, front) => text.startsWith(front),
  endswith: (text, end) => text.endsWith(end),
  isdecimal: (text) => DECIMAL.test(text),
  isalpha: (text) => /^\p{L}+$/u.test(text),
  append: (many, one) => { many.push(one); },
  tolist: (many) => LIST(many),
  fullmatch: (pattern, text) => pattern.exec(text),
  partition: (text, by) => {
    const at = text.indexOf(by);
    return at < 0 ? [text, "", ""] : [text.slice(0, at), by, text.slice(at + by.length)];
  },
  items: (pairs) => Object.entries(pairs),
  get: (pairs, key, other = null) => pairs[key] ?? other,
};
