// Logs, heading, handing on and taking in, the walker's figures, sun and tables, colours.
import { Complaint } from "../engine/complaints.js";
import { openLog, writeLog } from "../engine/csv.js";
import { PY, strip } from "../engine/py.js";
import { announce, button, byId, choice, drawn, el, field, says, table } from "./dom.js";
import { qrCode } from "./qr.js";
import { reading } from "./reading.js";
import { carried, keep, kept, log, newLog, plain, sayKept, write } from "./store.js";

const READ_AS = ["magnetic", "true", "grid"].flatMap((north) => ["degrees", "mils", "gon"].map((unit) => `${north} ${unit}`));
const NOT_HERE = [
  "It spreads nothing that does not close over the legs, searches for no mistake, and knows no map: the laptop does all three.",
  "It uses no bearings, no back readings and no known places: it says so where a log holds some.",
  "It asks no satellite where you are and sends nothing anywhere by itself.",
];

let again = () => {};

function keyOf(line) {
  return strip(PY.partition(line, ":")[0]).toLowerCase();
}

function told(key) {
  const line = log().heading.find((one) => one.includes(":") && keyOf(one) === key);
  return line ? strip(PY.partition(line, ":")[2]) : "";
}

/** Write one line of the heading; an empty one is taken away. */
function tell(key, value) {
  const lines = log().heading.filter((one) => keyOf(one) !== key), at = log().heading.findIndex((one) => keyOf(one) === key);
  if (value) lines.splice(at < 0 ? lines.length : at, 0, `${key}: ${value}`);
  log().heading = lines;
  keep();
  showHeading();
}

function showHeading() {
  const wrong = reading().typed.heading_complaint;
  byId("heading-wrong").textContent = wrong ? String(wrong) : "";
  byId("heading-wrong").hidden = !wrong;
  byId("title").textContent = told("title") || "Pocket page";
  const lines = byId("lines");
  if (document.activeElement !== lines) lines.value = log().heading.join("\n");
}

export const titleOf = () => told("title") || "Pocket page";
const nameOf = (one, at) => {
  const line = one.heading.find((text) => keyOf(text) === "title");
  return `${line ? strip(PY.partition(line, ":")[2]) : `Log ${at + 1}`} (${one.rows.length} rows)`;
};

function logs() {
  return [
    el("h2", {}, "Logs"),
    choice("Under the pencil", String(kept.at), kept.logs.map((one, at) => [String(at), nameOf(one, at)]), (value) => open(Number(value))),
    el("div", { class: "chips" },
      button("A new log", () => { kept.logs.push(newLog(log().heading.filter((one) => ["azimuth", "count", "walker"].includes(keyOf(one))))); open(kept.logs.length - 1); }),
      button("Take this log away", () => {
        if (!confirm(`Take ${nameOf(log(), kept.at)} off this phone? Hand it on first if you want it back.`)) return;
        kept.logs.splice(kept.at, 1);
        if (!kept.logs.length) kept.logs.push(newLog(["azimuth: magnetic degrees", "count: paces"]));
        open(0);
      })),
  ];
}

function open(at) {
  kept.at = at;
  kept.entry = { row: -1, azimuth: "", count: "", notes: "" };
  keep();
  again();
}

function heading() {
  return [
    el("h2", {}, "Heading"),
    el("p", { class: "warn", id: "heading-wrong" }),
    field("Title", told("title"), (text) => tell("title", strip(text))),
    field("Start", told("start"), (text) => tell("start", strip(text))),
    el("div", { class: "pair" },
      choice("Azimuths read as", told("azimuth") || READ_AS[0], READ_AS.map((one) => [one, one]), (value) => tell("azimuth", value)),
      choice("Counted in", told("count") || "paces", ["paces", "steps", "metres"].map((one) => [one, one]), (value) => tell("count", value))),
    el("details", {}, el("summary", {}, "All lines of the heading"),
      el("label", {}, "A line each, such as date: 2026-05-14", el("textarea", { id: "lines", oninput: (event) => {
        log().heading = event.target.value.split("\n").map(strip).filter(Boolean);
        keep();
        showHeading();
      } }))),
  ];
}

const text = () => writeLog(log().heading, log().rows);
const fileName = () => `${(told("title") || "log").toLowerCase().replace(/[^\p{L}\p{N}]+/gu, "_").replace(/^_+|_+$/g, "") || "log"}.csv`;

function tell_hand(said) {
  byId("handed").textContent = said;
  announce(said);
}

async function share() {
  const file = new File([text()], fileName(), { type: "text/csv" });
  try {
    if (navigator.canShare?.({ files: [file] })) await navigator.share({ files: [file], title: titleOf() });
    else if (navigator.share) await navigator.share({ text: text(), title: titleOf() });
    else tell_hand("This browser has no share sheet: copy or download instead.");
  } catch (wrong) {
    if (/** @type {any} */ (wrong).name !== "AbortError") tell_hand("It could not be shared: copy or download instead.");
  }
}

async function copy() {
  try {
    await navigator.clipboard.writeText(text());
    tell_hand("Copied.");
  } catch {
    byId("plain").hidden = false;
    byId("plain-text").value = text();
    byId("plain-text").select();
    tell_hand("This browser does not let the page copy: it is marked below, copy it by hand.");
  }
}

function download() {
  const link = el("a", { href: URL.createObjectURL(new Blob([text()], { type: "text/csv" })), download: fileName() });
  document.body.append(link);
  link.click();
  link.remove();
  tell_hand(`Handed to the browser as ${fileName()}.`);
}

function showQr() {
  const code = qrCode(text()), place = byId("qr");
  if (!code) {
    tell_hand("The log is too long for a QR code (about 2,900 letters): share or download it.");
    place.replaceChildren();
    return;
  }
  const size = code.modules.length;
  const path = code.modules.flatMap((row, y) => row.flatMap((dark, x) => (dark ? [`M${x} ${y}h1v1h-1z`] : []))).join("");
  place.replaceChildren(el("div", { class: "qr" }, drawn("svg", { viewBox: `0 0 ${size} ${size}`, role: "img", "aria-label": "QR code of the log's CSV text", "shape-rendering": "crispEdges" }, drawn("path", { d: path, fill: "#000" }))));
  tell_hand("Any reader of QR codes gives the text of the log's CSV file.");
}

function takeIn(given) {
  try {
    const opened = openLog(given), same = JSON.stringify([opened.heading, opened.rows]);
    const at = kept.logs.findIndex((one) => JSON.stringify([one.heading, one.rows]) === same);
    if (at >= 0) {
      open(at);
      tell_hand("That log is here already, row for row: it is under the pencil now.");
      return;
    }
    kept.logs.push(newLog(opened.heading, opened.rows));
    open(kept.logs.length - 1);
    const wrong = reading().typed.rows.filter((one) => one.complaint).length;
    tell_hand(`Taken in: ${opened.rows.length} rows${wrong ? `, ${wrong} of them not understood` : ""}.`);
  } catch (wrong) {
    if (!(wrong instanceof Complaint)) throw wrong;
    tell_hand(String(wrong));
  }
}

/** To the desk, in the address: this page asks for nothing by itself, the browser goes there. */
function send() {
  write();
  location.href = `${carried.desk}/from-phone#log=${plain(JSON.stringify({ id: log().id, text: text() }))}`;
}

function handOn() {
  let pasted = "";
  return [
    el("h2", {}, "Hand the log on"),
    el("div", { class: "chips" }, button("Share", share, { class: "lead" }), button("Copy", copy), button("Download", download), button("QR code", showQr), carried.desk ? button("Send to the desk", send) : null),
    el("p", { id: "handed", role: "status" }), el("div", { id: "qr" }),
    el("div", { id: "plain", hidden: true }, el("label", {}, "The log as CSV", el("textarea", { id: "plain-text", readonly: true }))),
    el("h2", {}, "Take a log in"),
    el("label", {}, "From a file", el("input", { type: "file", accept: ".csv,.txt,text/csv,text/plain", onchange: async (event) => { const [one] = event.target.files; if (one) takeIn(await one.text()); } })),
    el("label", {}, "Or paste it here", el("textarea", { oninput: (event) => { pasted = event.target.value; }, placeholder: "azimuth,count,notes" })),
    el("p", {}, button("Take it in", () => takeIn(pasted))),
  ];
}

const COLOURS = [["own", "As the phone"], ["day", "Day"], ["night", "Night: red on black"]];

export function showColours() {
  if (kept.colours === "own") delete document.documentElement.dataset.colours;
  else document.documentElement.dataset.colours = kept.colours;
}

function inside() {
  return [
    el("h2", {}, "Your own figures"), ...says(carried.figures),
    ...(carried.classes ? [table(carried.classes, "Pace table")] : []),
    ...carried.tables.map((one) => el("details", {}, el("summary", {}, one.title), ...says(one.says ?? []), one.rows ? table([one.heading, one.rows], one.title) : "")),
  ];
}

/** The part of the page for all else. */
export function morePart(showAgain) {
  again = showAgain;
  const part = el("div", {}, logs(), heading(), handOn(),
    el("h2", {}, "Colours"),
    el("div", { class: "chips", role: "group", "aria-label": "Colours" }, COLOURS.map(([key, label]) => button(label, (event) => {
      kept.colours = key;
      keep();
      showColours();
      for (const one of event.target.parentElement.children) one.setAttribute("aria-pressed", String(one === event.target));
    }, { "aria-pressed": String(kept.colours === key) }))),
    inside(),
    el("h2", {}, "What this page does not do"), ...says(NOT_HERE),
    el("p", {}, CAUTION),
    el("p", { class: "soft" }, `${sayKept()} Paper comes first: batteries die. Pacewright ${carried.version}.`));
  return [part, showHeading];
}
