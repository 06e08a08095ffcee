// A page that reads a log says so in its place when the log has more than it rests on: rows that this browser has not
// sent yet, rows that were changed since, a desk that does not answer.
"use strict";
(() => {
  const LOOK_MS = 3000;
  const UNSENT = "Rows typed in this browser are not sent yet: what stands here does not rest on them.";
  const CHANGED = "This log was changed since: what stands here does not rest on it.";
  const SILENT = "The desk does not answer: what stands here may be old.";
  let old = "";

  const isUnsent = (log) => shelf.names(desk.PREFIX + log + ":").some((name) => shelf.load(name)?.queue?.length);
  function show(line, words) {
    if (line.dataset.words === words) return;
    line.dataset.words = words;
    line.hidden = !words;
    line.textContent = words + " ";
    if (words !== CHANGED) return;
    const link = document.createElement("a");
    link.href = location.href;
    link.textContent = "Load it again";
    line.append(link);
  }
  async function look() {
    // Looked for each time: a page that waited for its answer is put in the place of itself.
    const line = document.getElementById("old");
    if (!line || document.hidden) return;
    const { log, revision, since, thrown } = line.dataset;
    let isSilent = false;
    if (old !== revision) {
      const { status } = await desk.look(since + "?" + new URLSearchParams({ revision, thrown }));
      if (status === 200) old = revision;
      isSilent = status === 0;
    }
    show(line, isUnsent(log) ? UNSENT : old === revision ? CHANGED : isSilent ? SILENT : "");
  }
  setInterval(look, LOOK_MS);
  document.addEventListener("visibilitychange", look);
  shelf.ready.then(look);
})();
