// What is set on a drawing by pointer or by keys: nodes, the point of a pointer, the way of an arrow key.
"use strict";
const onDrawing = {
  node(tag, told = {}) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(told)) made.setAttribute(name, value);
    return made;
  },
  // Where a pointer is, in the drawing's own unit.
  point: (svg, event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse()),
  // One step right and up, as an arrow key says it; nothing for another key.
  way: (event) => ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] })[event.key],
};
