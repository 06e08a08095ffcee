// What is wrong, where, what to do. The texts are those of the laptop, read from it when the page was built.
import { LIST } from "./py.js";

const LONGEST_SENTENCE = 700;
const CONTROLS = /[\x00-\x1f\x7f-\x9f\u2028\u2029]/g;

export class Complaint extends Error {
  /** @param {string} kind @param {string} what @param {string} todo */
  constructor(kind, what, todo) {
    super(what);
    this.kind = kind;
    this.what = what;
    this.do = todo;
    /** @type {number | null} */
    this.line = null;
    /** @type {string | null} */
    this.column = null;
  }

  /** The same, with the place filled in where it was not yet known. */
  at(place) {
    this.line = this.line ?? place.line ?? null;
    this.column = this.column || place.column || null;
    return this;
  }

  toString() {
    const place = [this.line === null ? "" : `line ${this.line}`, this.column ? `column ${this.column}` : ""];
    const where = place.filter(Boolean).join(", ");
    const text = `${where ? `${where}: ` : ""}${shortened(this.what)}. ${shortened(this.do)}.`;
    return text.replace(CONTROLS, (one) => {
      const code = one.charCodeAt(0);
      return code > 255 ? `\\u${code.toString(16).padStart(4, "0")}` : `\\x${code.toString(16).padStart(2, "0")}`;
    });
  }
}

function shortened(text) {
  const letters = [...text];
  return letters.length <= LONGEST_SENTENCE ? text : `${letters.slice(0, LONGEST_SENTENCE - 3).join("")}...`;
}

/** The complaint that a function of the laptop's makes: its first, its second, with what it tells of.
 * @param {string} of @param {number} number @param {Record<string, any>} told @returns {Complaint} */
export function complain(of, number, told = {}) {
  const [kind, what, todo] = COMPLAINTS[of][number](told);
  return new Complaint(kind, what, todo);
}

/** Run something; a complaint of it gets its place. */
export function placed(place, work) {
  try {
    return work();
  } catch (wrong) {
    if (wrong instanceof Complaint) throw wrong.at(place);
    throw wrong;
  }
}

/** What something gives, or the complaint that there is no answer. */
export function orComplaint(work) {
  try {
    return work();
  } catch (wrong) {
    if (wrong instanceof Complaint && wrong.kind === "NoAnswerComplaint") return wrong;
    throw wrong;
  }
}

export const different = (many) => [...new Set(LIST(many))];
