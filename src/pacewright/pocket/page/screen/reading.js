// What the log under the pencil means now, worked out once a change.
import { Complaint } from "../engine/complaints.js";
import { parseAzimuth } from "../engine/compass.js";
import { readTyped } from "../engine/log.js";
import { toNumber, strip } from "../engine/py.js";
import { answerWay, estimateOf } from "../engine/answer.js";
import { Walker } from "../engine/walker.js";
import { carried, log } from "./store.js";

let last = /** @type {any} */ (null), lastText = "";

export const walker = () => new Walker(/** @type {any} */ (carried.walker));

function tried(work) {
  try {
    return [work(), null];
  } catch (wrong) {
    if (!(wrong instanceof Complaint)) throw wrong;
    return [null, wrong];
  }
}

/** The log as far as it is understood, and its answers. */
export function reading() {
  const mine = log(), text = JSON.stringify([mine.id, mine.heading, mine.rows, mine.ask]);
  if (last && text === lastText) return last;
  const typed = readTyped(mine.heading, mine.rows);
  const found = { typed, estimate: null, answer: null, wrong: null };
  if (typed.log) {
    [found.estimate, found.wrong] = tried(() => estimateOf(typed.log, walker()));
    if (found.estimate) [found.answer, found.wrong] = tried(() => answerWay(found.estimate, askedOf(typed.log, mine.ask)));
  }
  [last, lastText] = [found, text];
  return found;
}

const numberOf = (text) => {
  const bare = strip(text ?? "").replace(",", ".");
  return /^\p{Nd}*\.?\p{Nd}+$/u.test(bare) ? toNumber(bare) : null;
};

/** What is asked, as the engine takes it. */
function askedOf(of, ask) {
  const unit = of.heading.azimuth_unit, from = ask.from ? of.find_station(ask.from) : of.legs.length;
  return {
    from_station: from, to: ask.to ? of.find_station(ask.to, from) : 0,
    line_deg: ask.line ? parseAzimuth(ask.line, unit) : null, toward_deg: ask.line && ask.toward ? parseAzimuth(ask.toward, unit) : null,
    sighting_distance: ask.sight ? numberOf(ask.sight) ?? NaN : null, ground: ask.ground || null, slope: ask.slope || null,
    with_retrace: ask.retrace === true,
  };
}

/** The rows above the first wrong one are understood: say so. */
export function sayUnderstood(found) {
  const { typed } = found;
  if (typed.heading_complaint) return [`The heading is not understood: ${typed.heading_complaint}`];
  if (typed.understood < typed.rows.length) {
    return [`Row ${typed.understood + 1} is not understood. The answer goes up to the row above it.`];
  }
  return [];
}
