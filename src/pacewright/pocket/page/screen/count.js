// A tally pad: a big target a hundred, undo; and the boxing helper and the back azimuth.
import { Complaint } from "../engine/complaints.js";
import { backAzimuth, formatAzimuth, normalAzimuth, parseAzimuth } from "../engine/compass.js";
import { Tally } from "../engine/tally.js";
import { strip, toNumber } from "../engine/py.js";
import { announce, button, byId, choice, el, field, says } from "./dom.js";
import { cordPicture } from "./cord.js";
import { reading } from "./reading.js";
import { keep, kept } from "./store.js";

const SHORT = { degrees: "deg", mils: "mils", gon: "gon" };
const box = { azimuth: "", side: "right", offset: "", step: 0 };

function buzz(pattern) {
  try {
    navigator.vibrate?.(pattern);
  } catch { /* A phone that cannot buzz still counts. */ }
}

const rest = () => {
  const bare = strip(kept.tally.rest).replace(",", ".");
  return /^\p{Nd}+(\.\p{Nd}*)?$/u.test(bare) ? toNumber(bare) : 0;
};
const total = () => kept.tally.hundreds * 100 + rest();

function tally(by, pattern) {
  kept.tally.hundreds = Math.max(0, kept.tally.hundreds + by);
  buzz(pattern);
  keep();
  showTally();
}

function showTally() {
  const now = kept.tally.hundreds, cord = new Tally(Math.floor(now / 10), now % 10, rest());
  byId("total").textContent = String(total());
  byId("undo").disabled = now === 0;
  byId("cord").replaceChildren(cordPicture(cord, `The cord: ${say_tally(cord)}`, (upper, lower) => {
    kept.tally.hundreds = cord.full_cords * 50 + upper * 10 + lower;
    keep();
    showTally();
  }));
  announce(`${total()}`);
}

function azimuthOf(text) {
  try {
    return text ? parseAzimuth(text, reading().typed.heading.azimuth_unit) : null;
  } catch (wrong) {
    if (wrong instanceof Complaint) return null;
    throw wrong;
  }
}

function showBox() {
  const unit = reading().typed.heading.azimuth_unit, course = azimuthOf(box.azimuth), place = byId("boxing");
  if (course === null) {
    place.replaceChildren(el("p", { class: "soft" }, box.azimuth ? "That is not an azimuth." : "Give the azimuth you walk on."));
    return;
  }
  const by = box.side === "right" ? 90 : -90, on = (azimuth) => `${formatAzimuth(normalAzimuth(azimuth), unit)} ${SHORT[unit]}`;
  const offset = box.offset || "as many as it takes", n = box.offset || "the same number";
  const steps = [
    `Turn ${box.side} to ${on(course + by)}. Walk ${offset} until you are clear, and remember how many. They do not go into the leg's count.`,
    `Turn to ${on(course)}. Walk until the obstacle lies behind. These paces do go into the leg's count.`,
    `Turn to ${on(course - by)}. Walk ${n} back to your line. They do not go into the leg's count.`,
    `Turn to ${on(course)} and go on counting. In the row write [box ${box.side} ${box.offset || "N"}].`,
  ];
  place.replaceChildren(
    el("p", {}, `Back azimuth of ${on(course)}: ${on(backAzimuth(course))}.`),
    el("p", { class: "now", id: "box-step" }, `${box.step + 1} of 4. ${steps[box.step]}`),
    el("div", { class: "pair" },
      button("Before", () => { box.step = Math.max(0, box.step - 1); showBox(); }, { disabled: box.step === 0 }),
      button("Done, next", () => { box.step = Math.min(3, box.step + 1); showBox(); buzz(30); }, { class: "lead", disabled: box.step === 3 })),
    box.step === 3 && box.offset ? button("Write it into the row", () => {
      kept.entry.notes = strip(`${kept.entry.notes} [box ${box.side} ${box.offset}]`);
      keep();
      announce("Written into the row.");
    }) : "");
}

function change(key, value) {
  box[key] = value;
  showBox();
}

/** The part of the page for counting. */
export function countPart() {
  const unit = { paces: "paces", steps: "steps", metres: "metres" }[reading().typed.heading.count_unit];
  if (!box.azimuth) box.azimuth = kept.entry.azimuth;
  const part = el("div", {}, el("div", { class: "aside" },
    el("div", {},
      el("h2", {}, `Counted, in ${unit}`),
      el("p", { class: "big", id: "total" }),
      button("A hundred", () => tally(1, 60), { class: "lead hundred" }),
      el("div", { class: "pair" }, button("Undo a hundred", () => tally(-1, [20, 60, 20]), { id: "undo" }), button("Begin again", () => {
        if (!total() || confirm(`Begin again at nothing? The count stands at ${total()}.`)) {
          kept.tally = { hundreds: 0, rest: "" };
          keep();
          byId("rest").value = "";
          showTally();
        }
      }))),
    el("div", { style: "display:grid;grid-template-columns:auto 1fr;gap:.8rem" },
      el("div", { id: "cord" }),
      el("div", {},
        field("And beyond the last hundred", kept.tally.rest, (text) => { kept.tally.rest = text; keep(); showTally(); }, { id: "rest", inputmode: "decimal" }),
        button("Write it as the row's count", () => {
          kept.entry.count = String(total());
          kept.tally = { hundreds: 0, rest: "" };
          keep();
          byId("rest").value = "";
          showTally();
          announce("Written into the row.");
        }, { class: "lead", style: "margin-top:.5rem" }),
        says(["Tap once a hundred. A bead is tapped to set it."], { class: "soft" })))),
    el("h2", {}, "Round an obstacle, and back azimuth"),
    el("div", { class: "pair" },
      field("You walk on", box.azimuth, (text) => change("azimuth", text)),
      field("Count of the offset", box.offset, (text) => change("offset", strip(text)), { inputmode: "decimal" })),
    choice("First to the", box.side, [["right", "right"], ["left", "left"]], (value) => change("side", value)),
    el("div", { id: "boxing", "aria-live": "polite" }));
  return [part, () => { showTally(); showBox(); }];
}
