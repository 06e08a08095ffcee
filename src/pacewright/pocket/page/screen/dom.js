// Elements of the page, made from texts; nothing that was typed is ever read as HTML.

const SVG = "http://www.w3.org/2000/svg";

function filled(node, told, inside) {
  for (const [key, value] of Object.entries(told)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (key === "value" || key === "checked") node[key] = value;
    else node.setAttribute(key, value === true ? "" : String(value));
  }
  node.append(...inside.flat(9).filter((one) => one !== null && one !== undefined && one !== false));
  return node;
}

/** @param {string} tag @param {Record<string, any>} told @param {...any} inside @returns {any} */
export function el(tag, told = {}, ...inside) {
  return filled(document.createElement(tag), told, inside);
}

/** @returns {any} */
export function drawn(tag, told = {}, ...inside) {
  return filled(document.createElementNS(SVG, tag), told, inside);
}

export const byId = (id) => /** @type {any} */ (document.getElementById(id));
export const says = (sentences, told = {}) => sentences.map((one) => el("p", told, one));
export const button = (text, onclick, told = {}) => el("button", { type: "button", onclick, ...told }, text);

/** Let a screen reader hear something. */
export function announce(text) {
  const said = byId("said");
  if (said.textContent !== text) said.textContent = text;
}

/** A field with its label; `on` is told what it holds. */
export function field(label, value, on, told = {}) {
  return el("label", {}, label, el("input", { type: "text", autocomplete: "off", value, oninput: (event) => on(event.target.value), ...told }));
}

export function choice(label, value, options, on) {
  const select = el("select", { onchange: (event) => on(event.target.value) },
    options.map(([key, text]) => el("option", { value: key, selected: key === value }, text)));
  return el("label", {}, label, select);
}

/** A table as the laptop gives one: heading, rows. */
export function table([heading, rows], caption) {
  return el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": caption },
    el("table", {}, el("caption", { class: "unseen" }, caption),
      el("thead", {}, el("tr", {}, heading.map((one) => (one ? el("th", { scope: "col" }, one) : el("td"))))),
      el("tbody", {}, rows.map((row) => el("tr", {}, row.map((one) => el("td", {}, one)))))));
}
