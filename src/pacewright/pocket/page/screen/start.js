// The parts of the page and the buttons between them.
import { byId, el } from "./dom.js";
import { countPart } from "./count.js";
import { figurePart } from "./figure.js";
import { morePart, showColours, titleOf } from "./more.js";
import { rowsPart } from "./rows.js";
import { flush, isBehind, keep, kept, load, sayKept } from "./store.js";
import { wayPart } from "./way.js";

const PARTS = [["rows", "Rows", rowsPart], ["way", "Way", wayPart], ["figure", "Figure", figurePart], ["count", "Count", countPart], ["more", "More", () => morePart(show)]];

function show() {
  const [, , make] = PARTS.find((one) => one[0] === kept.part) ?? PARTS[0];
  const [part, after] = /** @type {any} */ (make)();
  byId("main").replaceChildren(part);
  after();
  byId("title").textContent = titleOf();
  byId("kept").textContent = sayKept().split(/[.:;]/)[0] + ".";
  for (const one of document.querySelectorAll("nav button")) {
    if (one.getAttribute("data-part") === kept.part) one.setAttribute("aria-current", "page");
    else one.removeAttribute("aria-current");
  }
}

function go(part) {
  kept.part = part;
  keep();
  show();
  scrollTo(0, 0);
  byId("main").focus({ preventScroll: true });
}

/** The same page may lie open twice: what was typed in the other stands here too. */
function again(key) {
  if (!isBehind(key)) return;
  const part = kept.part;
  load();
  kept.part = part;
  show();
}

export function start() {
  load();
  showColours();
  /** @type {any} */ (document.querySelector("nav")).append(
    ...PARTS.map(([key, label]) => el("button", { type: "button", "data-part": key, onclick: () => go(key) }, label)),
  );
  addEventListener("pagehide", flush);
  addEventListener("storage", (event) => again(event.key ?? undefined));
  addEventListener("visibilitychange", () => (document.visibilityState === "hidden" ? flush() : again()));
  show();
}
