// The rows of a log that is gone, as far as this browser has them and the desk never had.
"use strict";
shelf.ready.then(() => {
  const left = document.getElementById("left-of-log"), names = shelf.names(desk.PREFIX + location.pathname.split("/")[2]);
  const rows = new Map();
  for (const change of names.flatMap((name) => shelf.load(name)?.queue || [])) {
    const found = change.kind === "put" ? [change] : change.kind === "paste" ? change.rows : [];
    for (const row of found) rows.set(row.id, row);
    for (const id of change.kind === "remove" ? change.ids : []) rows.delete(id);
  }
  if (!rows.size) return;
  const quoted = (text) => (/[",\n]/.test(text) ? '"' + text.replaceAll('"', '""') + '"' : text);
  const lines = [...rows.values()].map((row) => [row.azimuth, row.count, row.notes].map((text) => quoted(text || "")).join(","));
  left.querySelector("textarea").value = ["azimuth,count,notes", ...lines, ""].join("\n");
  left.hidden = false;
  document.getElementById("forget-rows").addEventListener("click", () => {
    names.forEach(shelf.remove);
    left.hidden = true;
  });
});
