// Rows out of what a spreadsheet or a log file puts on the clipboard.
"use strict";
const paste = {
  HEADS: {
    azimuth: /^(azimuths?|az)\b/i, count: /^(counts?|pace count|paces)\b/i, notes: /^(notes?|remarks?)\b/i,
    number: /^(no|nr|number|row|leg|#)\.?$/i,
  },
  // Cells of every line, quotation marks undone and a break inside a cell a blank; the delimiter is the first of
  // tab, semicolon, comma that occurs.
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
        else if (one === "\n") cell = cell.replace(/\s+$/, "") + " ";
        else if (one !== "\r") cell += one;
      } else if (one === '"' && cell === "") quoted = true;
      else if (one === delimiter) closeCell();
      else if (one === "\n") closeLine();
      else if (one !== "\r") cell += one;
    }
    if (cell !== "" || cells.length) closeLine();
    return { delimiter, lines: lines.filter((line) => line.some((part) => part.trim() !== "")) };
  },
  // What each column is, told by its heading; null where the line is no heading.
  heads(line) {
    const found = line.map((part) => Object.keys(paste.HEADS).find((name) => paste.HEADS[name].test(part.trim())) || "");
    return found.includes("azimuth") && found.includes("count") ? found : null;
  },
  // Lines as objects of cells by name, and heading lines. `first` is the column that the block begins in where no
  // heading tells; `isNumbered(line)` is asked where the first column may be a number of rows and may be not.
  rows(text, first, isNumbered) {
    const { delimiter, lines } = paste.table(text);
    const heading = [], plain = [];
    let heads = null;
    for (const line of lines) {
      const found = paste.heads(line);
      if (found) heads = heads || found;
      else if (line[0].trim().startsWith("#")) heading.push(line.join(delimiter).replace(/^[#\s]+/, "").replace(/[;,\t\s]+$/, ""));
      else plain.push(line);
    }
    if (!heads) {
      const names = ["azimuth", "count", "notes"];
      heads = first === "azimuth" && paste.isNumbered(plain, isNumbered) ? ["number", ...names] : names.slice(names.indexOf(first));
    }
    return { heading, rows: plain.map((line) => paste.cells(line, heads, delimiter)) };
  },
  // Whatever has no column of its own goes to the notes: nothing is dropped but a number of the row.
  cells(line, heads, delimiter) {
    const row = {}, rest = [];
    line.forEach((part, at) => {
      const name = heads[at];
      if (name === "number") return;
      if (name && name !== "notes") row[name] = part.trim();
      else if (name || part.trim()) rest.push(part);
    });
    if (rest.length) row.notes = rest.join(delimiter === "\t" ? " " : delimiter).trim();
    return row;
  },
  isNumbered(lines, ask) {
    if (!lines.length || lines.some((line) => line.length < 3)) return false;
    const isFigure = (part) => /^[\d\s.,x*×-]+$/.test(part.trim());
    if (!lines.every((line) => isFigure(line[0]) && isFigure(line[1]) && isFigure(line[2]))) return false;
    const numbers = lines.map((line) => Number(line[0]));
    const isCounted = lines.length > 1 && numbers.every((one, at) => Number.isInteger(one) && one === numbers[0] + at);
    return isCounted || ask(lines[0]);
  },
  isTable(text) {
    return /[\t\n]/.test(text.replace(/\s+$/, ""));
  },
};
