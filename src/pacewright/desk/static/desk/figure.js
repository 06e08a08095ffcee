// Zoom and move a drawing by wheel, two fingers, buttons and keys: only its viewBox changes.
"use strict";
(() => {
  const SMALLEST = 1 / 40;
  const views = new WeakMap();

  function viewOf(svg) {
    if (!views.has(svg)) {
      const box = svg.viewBox.baseVal;
      views.set(svg, { x: box.x, y: box.y, w: box.width, h: box.height, all: [box.x, box.y, box.width, box.height] });
    }
    return views.get(svg);
  }
  function show(svg, view) {
    const [ax, ay, aw, ah] = view.all;
    view.w = Math.min(aw, Math.max(aw * SMALLEST, view.w));
    view.h = (view.w * ah) / aw;
    view.x = Math.min(ax + aw - view.w, Math.max(ax, view.x));
    view.y = Math.min(ay + ah - view.h, Math.max(ay, view.y));
    svg.setAttribute("viewBox", [view.x, view.y, view.w, view.h].join(" "));
  }
  function zoom(svg, factor, at) {
    const view = viewOf(svg);
    const [fx, fy] = at || [0.5, 0.5];
    const w = Math.min(view.all[2], Math.max(view.all[2] * SMALLEST, view.w / factor));
    const h = (w * view.all[3]) / view.all[2];
    view.x += (view.w - w) * fx;
    view.y += (view.h - h) * fy;
    view.w = w;
    show(svg, view);
  }
  function move(svg, dx, dy) {
    const view = viewOf(svg);
    view.x += dx * view.w;
    view.y += dy * view.h;
    show(svg, view);
  }
  function reset(svg) {
    const view = viewOf(svg);
    [view.x, view.y, view.w, view.h] = view.all;
    show(svg, view);
  }
  function isWhole(svg) {
    const view = viewOf(svg);
    return view.w >= view.all[2] * 0.999;
  }
  function share(svg, event) {
    const box = svg.getBoundingClientRect();
    return [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
  }

  function addButtons(drawing) {
    if (drawing.querySelector(".zoom")) return;
    const bar = document.createElement("div");
    bar.className = "zoom";
    for (const [words, name, act] of [
      ["+", "Zoom in", (svg) => zoom(svg, 1.5)],
      ["−", "Zoom out", (svg) => zoom(svg, 1 / 1.5)],
      ["all", "Show all of the drawing", reset],
    ]) {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "small";
      button.textContent = words;
      button.setAttribute("aria-label", name);
      button.addEventListener("click", () => act(drawing.querySelector("svg")));
      bar.append(button);
    }
    drawing.append(bar);
  }

  const KEYS = {
    "+": (svg) => zoom(svg, 1.25), "=": (svg) => zoom(svg, 1.25), "-": (svg) => zoom(svg, 0.8), "0": reset,
    ArrowLeft: (svg) => move(svg, -0.1, 0), ArrowRight: (svg) => move(svg, 0.1, 0),
    ArrowUp: (svg) => move(svg, 0, -0.1), ArrowDown: (svg) => move(svg, 0, 0.1),
  };
  document.addEventListener("keydown", (event) => {
    const drawing = event.target.closest && event.target.closest("[data-zoom]");
    if (!drawing || event.target !== drawing || event.ctrlKey || event.metaKey || event.altKey) return;
    const act = KEYS[event.key];
    if (!act) return;
    event.preventDefault();
    act(drawing.querySelector("svg"));
  });
  document.addEventListener("wheel", (event) => {
    const drawing = event.target.closest && event.target.closest("[data-zoom]");
    // Without Ctrl the wheel goes on scrolling the page: a drawing must not catch whoever passes over it.
    if (!drawing || !event.ctrlKey) return;
    event.preventDefault();
    const svg = drawing.querySelector("svg");
    zoom(svg, event.deltaY < 0 ? 1.2 : 1 / 1.2, share(svg, event));
  }, { passive: false });

  const fingers = new Map();
  let spread = 0;
  document.addEventListener("pointerdown", (event) => {
    const drawing = event.target.closest && event.target.closest("[data-zoom]");
    if (!drawing || event.target.closest("button")) return;
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY, drawing });
    spread = 0;
  });
  document.addEventListener("pointermove", (event) => {
    const was = fingers.get(event.pointerId);
    if (!was) return;
    const svg = was.drawing.querySelector("svg");
    const box = svg.getBoundingClientRect();
    if (fingers.size === 1 && (event.pointerType === "mouse" || !isWhole(svg))) {
      move(svg, -(event.clientX - was.x) / box.width, -(event.clientY - was.y) / box.height);
    }
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY, drawing: was.drawing });
    if (fingers.size === 2) {
      const [a, b] = [...fingers.values()];
      const now = Math.hypot(a.x - b.x, a.y - b.y);
      const middle = { clientX: (a.x + b.x) / 2, clientY: (a.y + b.y) / 2 };
      if (spread) zoom(svg, now / spread, share(svg, middle));
      spread = now;
    }
  });
  for (const name of ["pointerup", "pointercancel"]) {
    document.addEventListener(name, (event) => { fingers.delete(event.pointerId); spread = 0; });
  }
  document.addEventListener("touchmove", (event) => {
    const drawing = event.target.closest && event.target.closest("[data-zoom]");
    // A drawing that is shown whole lets one finger scroll the page; a zoomed one is moved by it.
    if (drawing && event.cancelable && (event.touches.length > 1 || !isWhole(drawing.querySelector("svg")))) {
      event.preventDefault();
    }
  }, { passive: false });

  const ready = () => document.querySelectorAll("[data-zoom]").forEach(addButtons);
  ready();
  document.addEventListener("htmx:afterSwap", ready);
  document.addEventListener("desk:answer", ready);
})();
