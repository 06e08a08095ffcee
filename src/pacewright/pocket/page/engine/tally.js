// A count on the tally cord: nine lower beads, four upper ones.
import { fixed } from "./py.js";
import { complain } from "./complaints.js";

export const LARGEST_COUNT = 1_000_000;
const UPPER_BEADS = 4;

/** A count as it is said, to the whole pace; a half goes up. */
export function wholeCount(count) {
  const whole = Math.floor(Math.abs(count) + 0.5 + 1e-9);
  return count < 0 ? -whole + 0 : whole;
}

export class Tally {
  constructor(thousands, hundreds, paces) {
    this.kind = "Tally";
    this.thousands = thousands;
    this.hundreds = hundreds;
    this.paces = paces;
  }

  get full_cords() { return Math.floor(this.thousands / (UPPER_BEADS + 1)); }
  get upper_beads() { return this.thousands % (UPPER_BEADS + 1); }
}

export function tallyOfCount(count, perBead = 100) {
  if (!(count >= 0 && count <= LARGEST_COUNT)) throw complain("_check", 0, { count });
  if (!(perBead >= 1 && perBead <= 1000)) throw complain("_check", 1, { paces_per_bead: perBead });
  const beads = Math.floor(count / perBead + 1e-9);
  const rest = Math.max(0, Number(fixed(count - beads * perBead, 9)));
  return new Tally(Math.floor(beads / 10), beads % 10, rest);
}
