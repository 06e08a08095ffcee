// Points on the map of a plan: set, dragged, moved by keys; the plan is asked anew, old numbers greyed until then.
"use strict";
(() => {
  const STEP_M = 10;
  const FAR_M = 100;
  const PAUSE_MS = 600;
  let turn = 0;
  let waits = 0;

  const main = () => document.getElementById("main");
  const form = () => document.getElementById("plan-form");
  const figure = () => document.querySelector("[data-plan]");
  const field = (name) => form().elements[name];
  const held = (id) => JSON.parse(document.getElementById(id).textContent);
  // What stands on the page as well is told to ears alone.
  const tell = (words, isSeen = true) => {
    const at = document.getElementById("plan-told");
    if (!at) return;
    at.textContent = words;
    at.className = isSeen ? "" : "unseen";
  };
  const typed = (one) => `grid ${one.east.toFixed(1)} ${one.north.toFixed(1)}`;

  // A log that was chosen says where the start is, until another start is given.
  const isSet = (name) => Boolean(field(name).value || (name === "start" && field("log").value));

  let board = null;
  let handles = [];

  const toPage = (one) => [
    board.left_mm + (one.east - board.west_m) * board.mm_per_m,
    board.top_mm + (board.north_m - one.north) * board.mm_per_m,
  ];
  function toGround(event) {
    const at = onDrawing.point(figure().querySelector("svg"), event);
    return inside({ east: board.west_m + (at.x - board.left_mm) / board.mm_per_m,
      north: board.north_m - (at.y - board.top_mm) / board.mm_per_m });
  }
  function inside(at) {
    const wide = (board.right_mm - board.left_mm) / board.mm_per_m;
    const high = (board.foot_mm - board.top_mm) / board.mm_per_m;
    return { east: Math.min(board.west_m + wide, Math.max(board.west_m, at.east)),
      north: Math.max(board.north_m - high, Math.min(board.north_m, at.north)) };
  }

  function place(handle) {
    const [x, y] = toPage(handle);
    handle.mark.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)})`);
  }
  function drawHandle(handle, layer) {
    const mark = onDrawing.node("g", { class: `plan-handle ${handle.role}`, tabindex: "0", role: "button",
      "aria-label": `${handle.name}: move it with the arrow keys` });
    for (const [r, name] of [[5, "grip"], [2.2, "ring"]]) mark.append(onDrawing.node("circle", { r, class: name }));
    handle.mark = mark;
    mark.handle = handle;
    layer.append(mark);
    place(handle);
  }

  // Legs that an end was moved of are drawn anew at once, and all that was drawn before is greyed.
  const isPlan = () => Boolean(document.querySelector(".plan-numbers table"));
  function drawMoved(...moved) {
    for (const one of moved) if (one) one.isMoved = true;
    figure().classList.add("old");
    // The start or the goal of a plan of the tool's own asks for another plan: no leg of it is known yet.
    if (!isPlan() || !(field("ends").value || moved.some((one) => one && one.role === "end"))) return;
    const layer = figure().querySelector(".plan-handles");
    let line = layer.querySelector(".plan-moved");
    if (!line) layer.prepend(line = onDrawing.node("path", { class: "plan-moved" }));
    const points = handles.map((one) => toPage(one).map((part) => part.toFixed(2)).join(" "));
    line.setAttribute("d", handles.map((one, k) =>
      (k && (one.isMoved || handles[k - 1].isMoved) ? `M${points[k - 1]}L${points[k]}` : "")).join(""));
  }

  function begin() {
    if (!figure() || figure().dataset.ready) return;
    figure().dataset.ready = "1";
    board = held("plan-board");
    handles = held("plan-handles");
    const layer = onDrawing.node("g", { class: "plan-handles" });
    figure().querySelector("svg").append(layer);
    for (const handle of handles) drawHandle(handle, layer);
  }

  // What was moved is written into the form; the form is what is asked.
  function write(moved) {
    const first = handles.find((one) => one.role === "start");
    const last = handles.find((one) => one.role === "goal");
    if (moved.role === "start") field("start").value = typed(first);
    if (moved.role === "goal") field("goal").value = typed(last);
    const legs = handles.filter((one) => one.role !== "start");
    // The goal or the start of a plan of the tool's own asks for another plan; an end of a leg for its proof.
    if (!isPlan() || (moved.role !== "end" && !field("ends").value)) return;
    field("ends").value = legs.map((one) =>
      `${one.east.toFixed(1)},${one.north.toFixed(1)}${one.along ? ",along" : ""}`).join(";");
  }

  function moveTo(handle, at) {
    handle.east = at.east;
    handle.north = at.north;
    place(handle);
    drawMoved(handle);
  }
  function settled(handle) {
    write(handle);
    ask();
  }

  async function ask() {
    const mine = ++turn;
    const address = `${form().getAttribute("action")}?${new URLSearchParams(new FormData(form()))}`;
    if (!(field("ground").value && isSet("start") && isSet("goal"))) return;
    for (const part of document.querySelectorAll(".plan-numbers")) {
      part.classList.add("old");
      part.setAttribute("aria-busy", "true");
    }
    tell("Being walked again. Until then the old numbers stand.");
    for (;;) {
      let answer;
      try {
        answer = await fetch(address, { headers: { "HX-Request": "true" } });
      } catch {
        tell("The desk does not answer. Move it once more when it is back.");
        return;
      }
      if (mine !== turn) return;
      if (answer.status === 204) {
        await new Promise((done) => { setTimeout(done, PAUSE_MS); });
        if (mine !== turn) return;
        continue;
      }
      show(await answer.text(), address);
      return;
    }
  }
  function show(text, address) {
    const made = new DOMParser().parseFromString(text, "text/html").getElementById("main");
    if (!made) return;
    // An answer that still waits asks by itself: here it is asked already.
    const working = made.querySelector(".working");
    if (working) { setTimeout(ask, PAUSE_MS); return; }
    if (figure() && !made.querySelector("[data-plan]")) {
      // Where no plan can be: the map stays, so that what was moved can be moved back.
      const why = made.querySelector(".notice, .field.wrong strong");
      tell(why ? `${why.textContent} The numbers are still those of before.` : "There is no answer to this.");
      return;
    }
    const at = handles.findIndex((one) => one.mark === document.activeElement);
    main().replaceWith(document.adoptNode(made));
    history.replaceState(null, "", address);
    if (window.htmx) window.htmx.process(main());
    begin();
    document.dispatchEvent(new CustomEvent("desk:answer"));
    const lead = document.querySelector(".plan-numbers .lead, .notice");
    tell(lead ? lead.textContent : "", false);
    if (at >= 0 && handles[at]) handles[at].mark.focus();
  }

  function put(role, at) {
    let handle = handles.find((one) => one.role === role);
    if (!handle) {
      handle = { role, name: role, along: false, ...at };
      if (role === "start") handles.unshift(handle); else handles.push(handle);
      drawHandle(handle, figure().querySelector(".plan-handles"));
    }
    moveTo(handle, at);
    field(role).value = typed(handle);
    handle.mark.focus();
    const other = role === "start" ? "goal" : "start";
    tell(isSet(other) ? "" : `The ${role} is set. Now the ${other}.`);
    settled(handle);
  }

  let dragged = null;
  let pressed = null;
  document.addEventListener("pointerdown", (event) => {
    const mark = event.target.closest && event.target.closest(".plan-handle");
    if (mark) {
      // The drawing itself is not to move along with what is dragged on it.
      event.stopImmediatePropagation();
      event.preventDefault();
      mark.focus();
      dragged = { handle: mark.handle, moved: false };
    } else if (figure() && figure().contains(event.target) && event.target.closest("svg")) {
      pressed = { x: event.clientX, y: event.clientY };
    }
  }, true);
  document.addEventListener("pointermove", (event) => {
    if (!dragged) return;
    dragged.moved = true;
    event.stopImmediatePropagation();
    moveTo(dragged.handle, toGround(event));
  }, true);
  document.addEventListener("pointerup", (event) => {
    if (dragged) {
      const { handle, moved } = dragged;
      dragged = null;
      if (moved) settled(handle);
      return;
    }
    const was = pressed;
    pressed = null;
    if (!was || Math.hypot(event.clientX - was.x, event.clientY - was.y) > 4) return;
    const missing = ["start", "goal"].find((name) => !isSet(name));
    if (missing) put(missing, toGround(event));
  }, true);
  document.addEventListener("touchmove", (event) => {
    if (dragged && event.cancelable) event.preventDefault();
  }, { passive: false, capture: true });

  document.addEventListener("keydown", (event) => {
    const mark = event.target.closest && event.target.closest(".plan-handle");
    if (!mark || event.ctrlKey || event.metaKey || event.altKey) return;
    const handle = mark.handle;
    const at = handles.indexOf(handle);
    const way = onDrawing.way(event);
    if (way) {
      const far = event.shiftKey ? FAR_M : STEP_M;
      moveTo(handle, inside({ east: handle.east + way[0] * far, north: handle.north + way[1] * far }));
      clearTimeout(waits);
      // Keys come in rows: the plan is asked once they rest.
      waits = setTimeout(() => settled(handle), PAUSE_MS);
    } else if (event.key === "Delete" && handle.role === "end") {
      handles.splice(at, 1);
      handle.mark.remove();
      drawMoved(handle, handles[at]);
      settled(handle);
    } else if (event.key === "Enter" && handles[at + 1]) {
      const next = handles[at + 1];
      const half = { role: "end", name: "new end", along: false,
        east: (handle.east + next.east) / 2, north: (handle.north + next.north) / 2 };
      next.along = false;
      handles.splice(at + 1, 0, half);
      drawHandle(half, mark.parentNode);
      half.mark.focus();
      drawMoved(half);
      settled(half);
    } else {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
  });

  document.addEventListener("click", (event) => {
    const button = event.target.closest && event.target.closest("[data-put], [data-plan-anew]");
    if (!button) return;
    if (button.dataset.put) {
      put(button.dataset.put, inside({
        east: board.west_m + (board.right_mm - board.left_mm) / 2 / board.mm_per_m,
        north: board.north_m - (board.foot_mm - board.top_mm) / 2 / board.mm_per_m,
      }));
    } else {
      field("ends").value = "";
      ask();
    }
  });
  // A form that is sent anew asks for a plan of the tool's own.
  document.addEventListener("submit", (event) => { if (event.target.id === "plan-form") field("ends").value = ""; });

  begin();
  document.addEventListener("htmx:afterSwap", begin);
})();
