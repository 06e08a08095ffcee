// The figure: legs, stations, the region about the last one, and the way to walk. Pinch, drag, or buttons.
import { outline } from "../engine/regions.js";
import { unitVector } from "../engine/compass.js";
import { button, byId, drawn, el } from "./dom.js";
import { reading } from "./reading.js";

const view = { x: 0, y: 0, zoom: 1 };
let size = /** @type {any} */ (null);

/** Everything that must be in the picture, east and north. */
function pointsOf(found) {
  const { stations } = found.estimate, points = [...stations.place];
  return points.concat(regionRing(found));
}

function regionRing(found) {
  const { stations } = found.estimate, k = stations.last;
  if (k < 1) return [];
  const covariance = stations.covariance(k);
  return outline(covariance, stations.place[k], [0, 0], 0.95, "ellipse", 48);
}

function framed(points) {
  const easts = points.map((one) => one[0]), norths = points.map((one) => one[1]);
  const [w, e, s, n] = [Math.min(...easts), Math.max(...easts), Math.min(...norths), Math.max(...norths)];
  const span = Math.max(e - w, n - s, 10) * 1.25;
  return { span, left: (w + e) / 2 - span / 2, top: -(n + s) / 2 - span / 2 };
}

function show() {
  const svg = byId("figure");
  const span = size.span / view.zoom;
  svg.setAttribute("viewBox", `${size.left + view.x} ${size.top + view.y} ${span} ${span}`);
  // Lines and letters keep their size on the screen.
  const px = span / Math.max(240, Math.min(svg.clientWidth || 360, svg.clientHeight || 360));
  svg.querySelectorAll("text").forEach((one) => { one.style.fontSize = `${17 * px}px`; });
  svg.querySelectorAll("[data-r]").forEach((one) => one.setAttribute("r", String(5 * px)));
}

function zoomBy(by) {
  const before = size.span / view.zoom;
  view.zoom = Math.min(60, Math.max(0.5, view.zoom * by));
  const change = (before - size.span / view.zoom) / 2;
  view.x += change;
  view.y += change;
  show();
}

function handled(svg) {
  const fingers = new Map();
  const apart = () => {
    const [a, b] = [...fingers.values()];
    return Math.hypot(a[0] - b[0], a[1] - b[1]);
  };
  svg.addEventListener("pointerdown", (event) => {
    svg.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
  });
  svg.addEventListener("pointermove", (event) => {
    const was = fingers.get(event.pointerId);
    if (!was) return;
    const before = fingers.size === 2 ? apart() : 0;
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    if (fingers.size === 2) {
      if (before > 0) zoomBy(apart() / before);
      return;
    }
    const px = size.span / view.zoom / Math.min(svg.clientWidth, svg.clientHeight);
    view.x -= (event.clientX - was[0]) * px;
    view.y -= (event.clientY - was[1]) * px;
    show();
  });
  for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, (event) => fingers.delete(event.pointerId));
  svg.addEventListener("wheel", (event) => { event.preventDefault(); zoomBy(event.deltaY < 0 ? 1.2 : 1 / 1.2); }, { passive: false });
  svg.addEventListener("keydown", (event) => {
    const step = size.span / view.zoom / 8, moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (event.key === "+") zoomBy(1.3);
    else if (event.key === "-") zoomBy(1 / 1.3);
    else if (moves) { view.x += moves[0] * step; view.y += moves[1] * step; show(); } else return;
    event.preventDefault();
  });
}

function polyline(points, told) {
  return drawn("polyline", { points: points.map(([e, n]) => `${e},${-n}`).join(" "), fill: "none", "vector-effect": "non-scaling-stroke", ...told });
}

function wayLine(found) {
  const { answer } = found;
  if (!answer || answer.way.is_there || !answer.way.count) return [];
  const here = answer.way.region.origin, walk = answer.aimed ?? answer.way, far = answer.aimed ? answer.aimed.count / answer.way.counts_per_unit : answer.way.distance;
  const [east, north] = unitVector(walk.azimuth_deg);
  return [polyline([here, [here[0] + far * east, here[1] + far * north]], { stroke: "var(--warn)", "stroke-width": 3, "stroke-dasharray": "8 6" })];
}

const isRight = (east) => east > size.left + size.span * 0.55;

function picture(found) {
  const { stations } = found.estimate, names = stations.names, px = size.span / 360;
  const label = `${names.length - 1} legs; the way to walk is dashed`;
  return drawn("svg", { id: "figure", class: "figure", tabindex: "0", role: "img", "aria-label": label },
    polyline(regionRing(found), { stroke: "var(--soft)", "stroke-width": 2, fill: "var(--key)", "fill-opacity": ".5" }),
    polyline(stations.place, { stroke: "var(--lead)", "stroke-width": 3, "stroke-linejoin": "round" }),
    wayLine(found),
    stations.place.map(([e, n]) => drawn("circle", { cx: e, cy: -n, "data-r": "", r: 5 * px, fill: "var(--ink)" })),
    stations.place.map(([e, n], k) => (names[k] || k === 0 || k === stations.last
      ? drawn("text", { x: e, y: -n, dx: isRight(e) ? "-.5em" : ".5em", dy: "-.4em", "text-anchor": isRight(e) ? "end" : "start" }, names[k] || (k === 0 ? "start" : String(k))) : null)));
}

/** The part of the page with the figure. */
export function figurePart() {
  const found = reading();
  if (!found.estimate) return [el("p", {}, found.wrong ? String(found.wrong) : "There is no leg yet."), () => {}];
  size = framed(pointsOf(found));
  Object.assign(view, { x: 0, y: 0, zoom: 1 });
  const svg = picture(found), { frame } = found.estimate.written;
  handled(svg);
  const part = el("div", {}, el("h2", {}, "The figure"), svg,
    el("div", { class: "chips" }, button("Nearer", () => zoomBy(1.5)), button("Farther", () => zoomBy(1 / 1.5)), button("All of it", () => { Object.assign(view, { x: 0, y: 0, zoom: 1 }); show(); })),
    el("p", {}, `North (${frame.azimuth_reference}) is up. The line is what you walked, in ${frame.unit}s; the dashes are the way to walk; 95 times in 100 you stand within the oval, as seen from the start.`));
  return [part, show];
}
