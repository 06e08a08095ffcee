// A cell that got two values from two browsers shows both, and asks which counts.
"use strict";
// of: cell(row, name), cellsOf(row); choose(row, name, from, to, texts) is told which counts, of which that waited.
desk.makeAsks = (of) => (row, other) => {
  const asks = row.querySelector(".asks");
  const made = JSON.stringify([other, of.cellsOf(row)]);
  if (asks.dataset.made === made) return;
  asks.dataset.made = made;
  asks.replaceChildren();
  for (const [name, texts] of Object.entries(other || {})) {
    const stands = of.cell(row, name).value;
    const one = document.createElement("span");
    one.append("Two values for the " + name + ". ");
    asks.append(one);
    for (const [words, text] of [["Keep", stands], ...texts.map((one) => ["Take", one])]) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = words + " " + (text || "empty");
      button.addEventListener("click", () => {
        asks.replaceChildren();
        of.choose(row, name, stands, text, texts);
      });
      one.append(button, " ");
    }
  }
};
