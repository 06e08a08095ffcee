// Corners and column lines on a photograph: dragged, or moved by arrow keys; the fields of the form follow.
"use strict";
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const svg = document.getElementById("frame");
  const form = document.getElementById("frame-form");
  if (!svg || !form) return;
  const told = document.getElementById("frame-told");
  const { width, height } = svg.viewBox.baseVal;
  const NAMES = ["upper left", "upper right", "lower right", "lower left"];
  const LINES = ["between azimuth and count", "between count and notes"];
  const STEP = 0.002, FAR = 0.02;
  const value = (name) => Number(form.elements[name].value.replace(",", ".")) || 0;
  const put = (name, found) => { form.elements[name].value = String(Math.round(Math.min(1, Math.max(0, found)) * 1e5) / 1e5); };
  const corner = (at) => [value(`x${at}`) * width, value(`y${at}`) * height];

  const made = (kind, parent, attributes) => {
    const one = document.createElementNS(SVG, kind);
    for (const [name, text] of Object.entries(attributes)) one.setAttribute(name, text);
    parent.append(one);
    return one;
  };
  const size = Math.max(width, height);
  const outline = made("polygon", svg, { class: "frame-outline", "stroke-width": size / 400 });
  const lines = LINES.map(() => made("line", svg, { class: "frame-line", "stroke-width": size / 400 }));
  const handle = (label) => {
    const group = made("g", svg, { class: "frame-handle", tabindex: "0", role: "button", "aria-label": `${label}: move it with the arrow keys` });
    made("circle", group, { class: "grip", r: size / 28 });
    made("circle", group, { class: "ring", r: size / 90, "stroke-width": size / 300 });
    return group;
  };
  const corners = NAMES.map((name) => handle(`Corner ${name}`));
  const knobs = LINES.map((name) => handle(`Line ${name}`));

  // Where a share of the width between the corners stands, seen in perspective, on the upper or the lower side.
  function onSide(share, low) {
    const [[ax, ay], [bx, by]] = low ? [corner(3), corner(2)] : [corner(0), corner(1)];
    const [[cx, cy], [dx, dy]] = low ? [corner(0), corner(1)] : [corner(3), corner(2)];
    const left = Math.hypot(ax - cx, ay - cy), right = Math.hypot(bx - dx, by - dy);
    const weight = (share * left) / (share * left + (1 - share) * right || 1);
    return [ax + (bx - ax) * weight, ay + (by - ay) * weight];
  }
  function draw() {
    outline.setAttribute("points", NAMES.map((_, at) => corner(at).join(",")).join(" "));
    corners.forEach((group, at) => group.setAttribute("transform", `translate(${corner(at).join(" ")})`));
    lines.forEach((line, at) => {
      const [x1, y1] = onSide(value(`column${at}`), false), [x2, y2] = onSide(value(`column${at}`), true);
      for (const [name, found] of Object.entries({ x1, y1, x2, y2 })) line.setAttribute(name, found);
      knobs[at].setAttribute("transform", `translate(${(x1 + x2) / 2} ${(y1 + y2) / 2})`);
    });
  }
  function move(at, across, down) {
    if (at < 4) {
      put(`x${at}`, value(`x${at}`) + across);
      put(`y${at}`, value(`y${at}`) + down);
    } else {
      const wide = Math.max(0.05, (Math.abs(corner(1)[0] - corner(0)[0]) + Math.abs(corner(2)[0] - corner(3)[0])) / 2 / width);
      put(`column${at - 4}`, value(`column${at - 4}`) + across / wide);
    }
    draw();
  }
  const KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  [...corners, ...knobs].forEach((group, at) => {
    group.addEventListener("keydown", (event) => {
      const way = KEYS[event.key];
      if (!way) return;
      event.preventDefault();
      const step = event.shiftKey ? FAR : STEP;
      move(at, way[0] * step, way[1] * step);
      told.textContent = at < 4 ? `Corner ${NAMES[at]}: ${form.elements[`x${at}`].value} across, ${form.elements[`y${at}`].value} down.` : `Line ${LINES[at - 4]}: ${form.elements[`column${at - 4}`].value}.`;
    });
    group.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      group.focus();
      group.setPointerCapture(event.pointerId);
      let last = place(event);
      const follow = (moved) => {
        const now = place(moved);
        move(at, (now.x - last.x) / width, (now.y - last.y) / height);
        last = now;
      };
      group.addEventListener("pointermove", follow);
      group.addEventListener("pointerup", () => group.removeEventListener("pointermove", follow), { once: true });
    });
  });
  const place = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  form.addEventListener("input", draw);
  draw();
})();
