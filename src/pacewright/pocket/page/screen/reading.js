// What the log under the pencil means now, worked out once a change.
import { Complaint } from "../engine/complaints.js";
import { parseAzimuth } from "../engine/compass.js";
import { readTyped } from "../engine/log.js";
import { toNumber, strip } from "../engine/py.js";
import { answerWay, estimateOf, notUsed } from "../engine/answer.js";
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
  const found = { typed, estimate: null, answer: null, wrong: null, unused: null };
  if (typed.log) {
    found.unused = notUsed(typed.log);
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

/** What the log holds that moves the laptop's answer and not this one, in sentences. */
export function sayNotUsed(found) {
  if (!found.unused) return [];
  const { bearings, backs, known, again } = found.unused, said = [];
  if (bearings.length) said.push(`the bearings to ${bearings.join(", ")}`);
  if (backs.length) said.push(`the back reading${backs.length > 1 ? "s" : ""} of leg${backs.length > 1 ? "s" : ""} ${backs.join(", ")}`);
  if (known.length) said.push(`the known place${known.length > 1 ? "s" : ""} of ${known.join(", ")}`);
  const told = said.length ? [`Not used here: ${said.join("; ")}. The laptop uses what it can of them, and its answer may be another.`] : [];
  if (again.length) {
    told.push(`${again.join(", ")} was met again. Here the way goes over the surest legs and leaves a closed loop out; the laptop also spreads what does not close, and searches for a mistake. Its answer may be another.`);
  }
  return told;
}

/** The warning that comes first while a closure is more than scatter explains. */
export function sayDoubt(found) {
  const places = found.estimate ? [...new Set(found.estimate.unexplained.map((one) => one.at))] : [];
  if (!places.length) return [];
  return [`Take care: at ${places.join(", ")} this log misses by more than scatter explains, and the way is taken as written. Look for a mistake in those legs. This page does not search for one; the laptop does.`];
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
