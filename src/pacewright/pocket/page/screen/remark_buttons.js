// Buttons that write the remarks; what needs a name or a number asks for it.
import { button, byId, el, field } from "./dom.js";
import { carried } from "./store.js";
import { reading } from "./reading.js";

/** Label, remark before what is asked for, question, what may be chosen. */
/** @type {[string, string, string, () => string[]][]} */
const ASKING = [
  ["At …", "at", "Name of the marker", () => names()],
  ["See …", "see", "What is seen", () => names()],
  ["Back …", "back", "Reading taken backward", () => []],
  ["Box right …", "box right", "Offset, in the log's count", () => []],
  ["Box left …", "box left", "Offset, in the log's count", () => []],
  ["Estimated …", "est", "Off by so many per cent (empty: 20)", () => ["10%", "15%", "30%"]],
  ["Ground …", "ground", "Class of ground", () => grounds()],
  ["Faces …", "faces", "The side the slope faces", () => ["N", "NE", "E", "SE", "S", "SW", "W", "NW"]],
  ["Altitude …", "alt", "Height with its unit, such as 512 m", () => []],
  ["Steep …", "slope", "How steep, such as 20 % or 11 deg", () => []],
  ["Time …", "time", "Time of day, such as 14:32", () => [new Date().toTimeString().slice(0, 5)]],
  ["Was …", "was", "What stood there before", () => []],
];
const PLAIN = ["up", "level", "down", "cross stream", "no stream", "on ridge", "in valley", "on slope", "on stream", "flat"];

function names() {
  const { log } = reading().typed;
  return log ? [...new Set([...log.station_names(), ...[...log.sightings()].map(([, row]) => row.name)].filter(Boolean))] : [];
}

const grounds = () => [...new Set(/** @type {any} */ (carried.walker).classes.map((one) => one.ground).filter(Boolean))];

/** @param {(remark: string) => void} write */
export function remarkButtons(write) {
  const place = el("div", { id: "ask" });
  const ask = ([label, front, question, choices]) => {
    const done = (text) => {
      write(`[${text.trim() ? `${front} ${text.trim()}` : front}]`);
      place.replaceChildren();
      byId("notes").focus({ preventScroll: true });
    };
    let text = "";
    place.replaceChildren(el("div", { class: "ask", role: "group", "aria-label": label },
      field(question, "", (typed) => { text = typed; }, {
        id: "asked", onkeydown: (event) => { if (event.key === "Enter") { event.preventDefault(); done(text); } },
        inputmode: ["back", "box right", "box left"].includes(front) ? "decimal" : "text",
      }),
      el("div", { class: "chips" }, choices().map((one) => button(one, () => done(one)))),
      el("div", { class: "pair" }, button("Write it", () => done(text), { class: "lead" }), button("Leave it", () => place.replaceChildren()))));
    byId("asked").focus();
  };
  return el("div", {},
    place,
    el("div", { class: "chips", role: "group", "aria-label": "Remarks" },
      ASKING.map((one) => button(one[0], () => ask(one))), PLAIN.map((one) => button(one, () => write(`[${one}]`)))));
}
