// A form that was sent while the desk was down did not come through: what was typed in it stays kept.
"use strict";
shelf.ready.then(() => {
  for (const name of [...shelf.names("desk-form:"), ...shelf.names("desk-draft:")]) {
    const kept = shelf.load(name);
    if (kept && kept.isPosted) shelf.put(name, { ...kept, isPosted: false });
  }
});
