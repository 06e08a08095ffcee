// The way back: azimuth, count, cord, where to look and to stop, and what else is asked.
import { announce, button, byId, choice, el, field, says, table } from "./dom.js";
import { cordPicture } from "./cord.js";
import { sayDoubtOf } from "../engine/doubts.js";
import { reading, sayUnderstood } from "./reading.js";
import { carried, keep, log } from "./store.js";

function ask(key, value) {
  log().ask[key] = value;
  keep();
  showAnswer();
}

function showAnswer() {
  const found = reading(), place = byId("answer"), { answer } = found;
  const warned = says(sayUnderstood(found), { class: "warn" });
  if (!answer) {
    const text = found.wrong ? String(found.wrong) : "There is no leg yet.";
    place.replaceChildren(...warned, el("p", { class: found.wrong ? "warn" : "" }, text));
    announce(text);
    return;
  }
  const [line, ...more] = say_way(answer), walk = answer.aimed ?? answer.way, doubts = sayDoubtOf(answer.log, answer.way, answer.doubt);
  const beads = walk.tally && !answer.way.is_there && walk.count ? cordPicture(walk.tally, `The cord when the count is full: ${say_tally(walk.tally)}`) : null;
  const tables = way_tables(answer), searched = answer.square && answer.square.legs && !answer.way.is_there, why = explain_way(answer);
  const shown = (one) => el("p", { class: doubts.includes(one) || answer.unused.includes(one) ? "warn" : one === CAUTION ? "soft" : null }, one);
  place.replaceChildren(
    ...warned, el("p", { class: "big" }, line), beads ? el("div", { class: "beads" }, beads) : "", ...more.map(shown), el("div", { class: "more" }),
    ...tables.map((one, at) => table(one, at === 0 && searched ? "The search, side by side" : "Leg by leg")),
    why.length ? el("details", {}, el("summary", {}, "What this rests on"), ...says(why)) : "",
  );
  announce([line, ...doubts].join(" "));
}

function stations(found) {
  const names = found.typed.log ? found.typed.log.station_names() : [];
  return names.map((name, k) => [String(k), name ? `${name} (${k})` : k === 0 ? "the start (0)" : `station ${k}`]);
}

/** The part of the page with the way back. */
export function wayPart() {
  const found = reading(), mine = log().ask, list = stations(found), last = String(Math.max(0, list.length - 1));
  const grounds = [...new Set(/** @type {any} */ (carried.walker).classes.map((one) => one.ground).filter(Boolean))];
  const part = el("div", {},
    el("h2", {}, "The way"),
    el("div", { class: "pair" },
      choice("From", mine.from || last, list, (value) => ask("from", value === last ? "" : value)),
      choice("To", mine.to || "0", list, (value) => ask("to", value === "0" ? "" : value))),
    el("div", { id: "answer" }),
    el("h2", {}, "Ask more"),
    el("div", { class: "pair" },
      field("Aim off by a line on azimuth", mine.line ?? "", (text) => ask("line", text), { inputmode: "text" }),
      field("Aim off toward (empty: shorter)", mine.toward ?? "", (text) => ask("toward", text))),
    field("Search: how far off the goal is seen", mine.sight ?? "", (text) => ask("sight", text), { inputmode: "decimal" }),
    grounds.length ? el("div", { class: "pair" },
      choice("Ground of the way", mine.ground ?? "", [["", "as walked out"], ...grounds.map((one) => [one, one])], (value) => ask("ground", value)),
      choice("Lie of the way", mine.slope ?? "", [["", "as walked out"], ["up", "up"], ["level", "level"], ["down", "down"]], (value) => ask("slope", value))) : null,
    el("p", {}, button("Leg by leg", (event) => {
      ask("retrace", !log().ask.retrace);
      event.target.setAttribute("aria-pressed", String(log().ask.retrace));
    }, { "aria-pressed": String(mine.retrace === true) })),
    el("h2", {}, "Does it close?"), el("div", { id: "closing" }, closing(found)),
    el("h2", {}, "Where you are"), el("div", {}, whereYouAre(found)));
  return [part, showAnswer];
}

function closing(found) {
  if (!found.estimate) return [];
  const { closures, written } = found.estimate;
  const said = closures.length ? say_closures(found.typed.log, closures, written.frame.unit) : ["No marker is met again in this log: a mistake in it would not show here."];
  return says([...said, "This page does not search for the mistake and spreads nothing over the legs: the laptop does."]);
}

function whereYouAre(found) {
  if (!found.estimate || !found.typed.log) return [];
  const { stations: at } = found.estimate;
  return [...says([...say_reckoning(found.typed.log, at, 0.95)]), table(station_table(found.typed.log, at, 0.95), "Stations")];
}
