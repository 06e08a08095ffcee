// The tally cord as a picture: four upper beads, nine lower ones; those slid down hang at the end.
import { drawn } from "./dom.js";

const LOWER = 9, UPPER = 4, STEP = 26, TOP = 16;

function beads(count, down, top, on) {
  // What is not slid hangs at the top of its part, what is slid at the foot.
  return Array.from({ length: count }, (_, k) => {
    const slid = k >= count - down;
    return drawn("ellipse", {
      cx: 40, cy: top + (k + (slid ? 2 : 0)) * STEP, rx: 19, ry: 11, fill: slid ? "var(--lead)" : "var(--key)",
      stroke: "var(--ink)", "stroke-width": 2, onclick: () => on(slid && count - k === down ? down - 1 : count - k),
      style: on === NONE ? null : "cursor:pointer",
    });
  });
}

const NONE = () => {};

/** @param {{upper_beads: number, hundreds: number}} tally @param {string} label
 * @param {(upper: number, lower: number) => void} [on] */
export function cordPicture(tally, label, on) {
  const upper = TOP + (UPPER + 2) * STEP, height = upper + (LOWER + 2) * STEP + 14;
  return drawn("svg", { viewBox: `0 0 80 ${height}`, width: 80, height, role: "img", "aria-label": label },
    drawn("line", { x1: 40, y1: 2, x2: 40, y2: height - 2, stroke: "var(--ink)", "stroke-width": 3 }),
    drawn("line", { x1: 26, y1: upper - 8, x2: 54, y2: upper - 8, stroke: "var(--ink)", "stroke-width": 6 }),
    beads(UPPER, tally.upper_beads, TOP, on ? (n) => on(n, tally.hundreds) : NONE),
    beads(LOWER, tally.hundreds, upper + STEP / 2, on ? (n) => on(tally.upper_beads, n) : NONE));
}
