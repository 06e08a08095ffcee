// Rows out of what a spreadsheet or a log file puts on the clipboard.
"use strict";
const paste = {
  // Cells of every line, quotation marks undone; the delimiter is the first of tab, semicolon, comma that occurs.
  table(text) {
    const delimiter = ["\t", ";", ","].find((one) => text.includes(one)) || "\t";
    const lines = [];
    let cells = [], cell = "", quoted = false;
    const closeCell = () => { cells.push(cell); cell = ""; };
    const closeLine = () => { closeCell(); lines.push(cells); cells = []; };
    for (let at = 0; at < text.length; at += 1) {
      const one = text[at];
      if (quoted) {
        if (one === '"' && text[at + 1] === '"') { cell += '"'; at += 1; }
        else if (one === '"') quoted = false;
        else cell += one;
      } else if (one === '"' && cell === "") quoted = true;
      else if (one === delimiter) closeCell();
      else if (one === "\n") closeLine();
      else if (one !== "\r") cell += one;
    }
    if (cell !== "" || cells.length) closeLine();
    return { delimiter, lines: lines.filter((line) => line.some((part) => part.trim() !== "")) };
  },
  // Rows and heading lines; the third column is the rest of its line.
  rows(text) {
    const { delimiter, lines } = paste.table(text);
    const rows = [], heading = [];
    for (const line of lines) {
      const first = line[0].trim();
      if (first.startsWith("#")) heading.push(line.join(delimiter).replace(/^[#\s]+/, "").replace(/[;,\t\s]+$/, ""));
      else if (first.toLowerCase() === "azimuth" && (line[1] || "").trim().toLowerCase() === "count") continue;
      else rows.push([line[0], line[1] || "", line.slice(2).join(delimiter).replace(/[\t;,]+$/, "")]);
    }
    return { rows, heading };
  },
  isTable(text) {
    return /[\t\n]/.test(text.replace(/\s+$/, ""));
  },
};
