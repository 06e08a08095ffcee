// An area drawn on a map: corners by pointer or by keys, kept as places in the field beside it.
"use strict";
(() => {
  const MOST = 60, made = onDrawing.node;

  function begin(figure) {
    const svg = figure.querySelector("svg"), field = document.getElementById("area"), said = document.getElementById("area-said");
    if (!svg || !field || figure.dataset.begun) return;
    figure.dataset.begun = "yes";
    const box = svg.viewBox.baseVal;
    const [nw, ne, sw, se] = figure.dataset.corners.split(";").map((one) => one.split(",").map(Number));
    const layer = svg.appendChild(made("g", { "aria-hidden": "true" }));
    let cross = [0.5, 0.5], isShown = false;

    // Between its corners a grid of metres is as good as straight: over 50 km some metres.
    function place([x, y]) {
      const mix = (k) => (1 - y) * ((1 - x) * nw[k] + x * ne[k]) + y * ((1 - x) * sw[k] + x * se[k]);
      return `${mix(0).toFixed(5)} ${mix(1).toFixed(5)}`;
    }
    function point(text) {
      const [lat, lon] = text.trim().split(/[\s,]+/).map(Number);
      if (!Number.isFinite(lat) || !Number.isFinite(lon)) return null;
      let x = 0.5, y = 0.5;
      for (let k = 0; k < 8; k += 1) {
        const west = nw[1] + y * (sw[1] - nw[1]), east = ne[1] + y * (se[1] - ne[1]);
        x = (lon - west) / (east - west);
        const top = nw[0] + x * (ne[0] - nw[0]), low = sw[0] + x * (se[0] - sw[0]);
        y = (lat - top) / (low - top);
      }
      return [x, y];
    }
    const corners = () => field.value.split(";").map((one) => one.trim()).filter(Boolean);

    function show() {
      const points = corners().map(point).filter(Boolean).map(([x, y]) => [box.x + x * box.width, box.y + y * box.height]);
      layer.replaceChildren();
      const line = points.map((one) => one.join(",")).join(" ");
      if (points.length > 1) {
        layer.append(made(points.length > 2 ? "polygon" : "polyline", { points: line, fill: "#8a3324", "fill-opacity": points.length > 2 ? 0.18 : 0, stroke: "#8a3324", "stroke-width": 1 }));
      }
      for (const [x, y] of points) layer.append(made("circle", { cx: x, cy: y, r: 1.4, fill: "#8a3324" }));
      if (isShown) {
        const [x, y] = [box.x + cross[0] * box.width, box.y + cross[1] * box.height];
        layer.append(made("path", { d: `M${x - 6} ${y}h12M${x} ${y - 6}v12`, stroke: "#111", "stroke-width": 0.6, fill: "none" }));
      }
    }
    function tell(text) {
      said.textContent = text;
    }
    function set(at) {
      const list = corners();
      if (list.length >= MOST) {
        tell(`An area has at most ${MOST} corners.`);
        return;
      }
      list.push(place(at));
      field.value = list.join("; ");
      show();
      tell(`Corner ${list.length} at ${place(at)}${list.length < 3 ? "; an area has three or more" : ""}.`);
    }
    function back() {
      const list = corners();
      list.pop();
      field.value = list.join("; ");
      show();
      tell(list.length ? `${list.length} corner${list.length > 1 ? "s" : ""} left.` : "No corner is set.");
    }

    svg.addEventListener("click", (event) => {
      const at = onDrawing.point(svg, event);
      const [x, y] = [(at.x - box.x) / box.width, (at.y - box.y) / box.height];
      if (x < 0 || x > 1 || y < 0 || y > 1) return;
      cross = [x, y];
      isShown = false;
      set(cross);
    });
    figure.addEventListener("keydown", (event) => {
      const step = event.shiftKey ? 0.005 : 0.025;
      const way = onDrawing.way(event), within = (one) => Math.min(1, Math.max(0, one));
      if (way) {
        cross = [within(cross[0] + step * way[0]), within(cross[1] - step * way[1])];
        isShown = true;
        show();
        tell(place(cross));
      } else if (event.key === "Enter" || event.key === " ") {
        set(cross);
      } else if (event.key === "Backspace" || event.key === "Delete") {
        back();
      } else {
        return;
      }
      event.preventDefault();
    });
    figure.addEventListener("focus", () => { isShown = true; show(); });
    figure.addEventListener("blur", () => { isShown = false; show(); });
    field.addEventListener("input", show);
    document.getElementById("area-back").addEventListener("click", back);
    document.getElementById("area-clear").addEventListener("click", () => { field.value = ""; show(); tell("No corner is set."); });
    show();
  }

  function all() {
    for (const figure of document.querySelectorAll("[data-area]")) begin(figure);
  }
  document.addEventListener("DOMContentLoaded", all);
  document.addEventListener("htmx:afterSwap", all);
  if (document.readyState !== "loading") all();
})();
