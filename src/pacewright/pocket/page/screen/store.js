// What is kept: every change at once in the browser's storage and in the address.
import { openLog } from "../engine/csv.js";

const KEY = "pacewright-pocket";
const LONGEST_ADDRESS = 30_000;

/** All that the page keeps. */
export const kept = {
  logs: /** @type {any[]} */ ([]), at: 0, part: "rows", colours: "own", tally: { hundreds: 0, rest: "" },
  entry: { row: -1, azimuth: "", count: "", notes: "" }, cord: 0,
};

/** Where it is kept now: in the storage, in the address. */
export const places = { storage: false, address: false };

export const carried = { logs: /** @type {any[]} */ ([]), walker: null, sun: null, tables: /** @type {any[]} */ ([]), version: "", desk: /** @type {string | null} */ (null) };

export const log = () => kept.logs[kept.at];

export function newLog(heading, rows = []) {
  return { id: `${Date.now().toString(36)}${Math.random().toString(36).slice(2, 8)}`, heading, rows, ask: {}, changed: 0 };
}

export const plain = (text) => btoa(Array.from(new TextEncoder().encode(text), (one) => String.fromCharCode(one)).join(""))
  .replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
const unplain = (text) => new TextDecoder().decode(Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (one) => one.charCodeAt(0)));

let waiting = 0, written = "";

/** Keep all, wherever it can be kept, as soon as the answer stands there. */
export function keep() {
  if (log()) log().changed = Date.now();
  waiting ||= setTimeout(write);
}

/** Keep what is still to be kept: a page that only lies open must not write over another's newer rows. */
export function flush() {
  if (waiting) write();
}

/** Whether another page with the same storage wrote something since. */
export function isBehind(key = KEY) {
  const stored = read(() => localStorage.getItem(KEY));
  return key === KEY && !waiting && stored !== null && stored !== written;
}

export function write() {
  clearTimeout(waiting);
  waiting = 0;
  const text = JSON.stringify(kept);
  written = text;
  try {
    localStorage.setItem(KEY, text);
    places.storage = localStorage.getItem(KEY) === text;
  } catch {
    places.storage = false;
  }
  try {
    const one = plain(JSON.stringify({ log: log(), tally: kept.tally, entry: kept.entry }));
    places.address = one.length <= LONGEST_ADDRESS;
    if (places.address) history.replaceState(null, "", `#p=${one}`);
  } catch {
    places.address = false;
  }
}

/** Say where the rows are kept. */
export function sayKept() {
  if (places.storage && places.address) return "Kept on this phone and in the address.";
  if (places.storage) return "Kept on this phone; the log is too long for the address.";
  if (places.address) return "Kept in the address alone: this browser keeps nothing else. Do not close the page before you have handed the log on or bookmarked it.";
  return "Not kept: close this page and the rows are gone. Write them on paper, and hand the log on below More.";
}

function understood(one) {
  return one && Array.isArray(one.heading) && Array.isArray(one.rows) && typeof one.id === "string"
    && one.rows.every((row) => ["azimuth", "count", "notes"].every((key) => typeof row[key] === "string"));
}

function read(work) {
  try {
    return work();
  } catch {
    return null;
  }
}

/** Put together what the page carries, what the storage holds and what the address holds; the newest wins. */
export function load() {
  Object.assign(carried, JSON.parse(/** @type {any} */ (document.getElementById("carried")).textContent));
  const stored = read(() => JSON.parse(localStorage.getItem(KEY) ?? "null"));
  const address = read(() => JSON.parse(unplain(location.hash.replace(/^#p=/, ""))));
  if (stored) {
    for (const key of ["at", "part", "colours", "tally", "entry", "cord"]) kept[key] = stored[key] ?? kept[key];
    kept.logs = (stored.logs ?? []).filter(understood);
  }
  for (const one of carried.logs) {
    if (!kept.logs.some((mine) => mine.id === one.id)) {
      const opened = read(() => openLog(one.text));
      if (opened) kept.logs.push({ ...newLog(opened.heading, opened.rows), id: one.id, changed: 1 });
    }
  }
  const mine = address?.log;
  if (understood(mine)) {
    const at = kept.logs.findIndex((one) => one.id === mine.id);
    if (at < 0) kept.logs.push(mine);
    else if (mine.changed > kept.logs[at].changed) kept.logs[at] = mine;
    kept.at = at < 0 ? kept.logs.length - 1 : at;
    if (!stored) Object.assign(kept, { tally: address.tally ?? kept.tally, entry: address.entry ?? kept.entry });
  } else if (carried.logs.length && !stored?.logs?.some((one) => one.id === carried.logs[0].id)) {
    kept.at = kept.logs.findIndex((one) => one.id === carried.logs[0].id);
  }
  if (!kept.logs.length) kept.logs.push(newLog(["azimuth: magnetic degrees", "count: paces"]));
  kept.at = Math.min(Math.max(0, kept.at), kept.logs.length - 1);
  write();
}
