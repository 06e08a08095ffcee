// Every form is kept in this browser while it is typed, until the desk is there to take it.
"use strict";
(() => {
  const KEPT = "input:not([type=hidden]):not([type=file]):not([type=password]):not([type=search]), textarea, select";
  const isKept = (form) => form.method === "post" && form.id !== "page" && !form.dataset.entry && form.querySelector(KEPT) && !form.matches("[hx-post]");
  const place = (form) => "desk-form:" + location.pathname + ":" + form.getAttribute("action");
  const fields = (form) => [...form.elements].filter((one) => one.matches(KEPT));
  const valueOf = (field) => (["checkbox", "radio"].includes(field.type) ? String(field.checked) : field.value);
  const values = (form, read = valueOf) => fields(form).map((field) => [field.name, read(field)]);

  function note(form, words) {
    let told = form.querySelector(":scope > .form-told");
    if (!told) {
      told = document.createElement("p");
      told.className = "notice form-told";
      told.setAttribute("role", "status");
      form.prepend(told);
    }
    told.textContent = words;
    return told;
  }
  function keep(form, was, isPosted = false) {
    try {
      shelf.put(place(form), { was, typed: values(form), isPosted });
    } catch {
      note(form, "This browser cannot keep what you type (its storage is full or closed). Send the form before you leave.");
    }
  }
  // What was typed comes back only onto the form that it was typed on, as it was then.
  function bringBack(form, was) {
    const left = shelf.load(place(form));
    if (!left) return;
    // Only what was typed counts: a form may begin with another seed each time.
    const isSame = (one, other) => JSON.stringify(one) === JSON.stringify(other);
    const names = (list) => list.map(([name]) => name);
    const changed = [...left.was.keys()].filter((at) => !isSame(left.typed[at], left.was[at]));
    if (!changed.length || !isSame(names(left.was), names(was)) || !changed.every((at) => isSame(left.was[at], was[at]))) {
      shelf.remove(place(form));
      return;
    }
    const all = fields(form);
    for (const at of changed) {
      if (["checkbox", "radio"].includes(all[at].type)) all[at].checked = left.typed[at][1] === "true";
      else all[at].value = left.typed[at][1];
    }
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Forget it";
    button.addEventListener("click", () => { shelf.remove(place(form)); form.reset(); button.parentElement.remove(); });
    note(form, "What you typed here and did not send is back. ").append(button);
  }
  // Whether the desk is there is asked while somebody types, so that sending need not wait for it.
  const ASK_MS = 3000;
  let isThere = true, askedAt = 0;
  async function ask() {
    askedAt = Date.now();
    // At an address that no worker of this browser answers by itself.
    const { status } = await desk.look("/worker.js");
    isThere = status !== 0;
  }
  // A page that opened in the ordinary way tells that what was sent before it has come through.
  const [opened] = performance.getEntriesByType("navigation");
  if (opened && opened.type === "navigate" && !document.documentElement.dataset.kept) {
    for (const name of shelf.names("desk-form:")) {
      if (shelf.load(name)?.isPosted) shelf.remove(name);
    }
  }
  for (const form of [...document.forms].filter(isKept)) {
    const was = values(form, desk.asCame);
    const isAsCame = () => JSON.stringify(values(form)) === JSON.stringify(was);
    if (isAsCame()) bringBack(form, was);
    // Typed before this script was there, and not put back by the browser as what was sent already.
    else if (opened && opened.type !== "back_forward") keep(form, was);
    // What outlived a browser that was killed is there a moment later.
    shelf.ready.then(() => { if (isAsCame()) bringBack(form, was); });
    form.addEventListener("input", () => {
      keep(form, was);
      if (Date.now() - askedAt > ASK_MS) ask();
    });
    form.addEventListener("submit", (event) => {
      keep(form, was, true);
      if (isThere) return;
      event.preventDefault();
      ask();
      note(form, "The desk does not answer. What you typed is kept in this browser: send it again when the desk is back.");
    });
  }
})();
