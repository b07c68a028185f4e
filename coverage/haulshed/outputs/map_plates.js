/* What takes long to draw is drawn on a plate of its own, piece by piece between two frames, and laid
   on the map whole: the page answers meanwhile, and a click does not draw a county again. */
"use strict";

function haulshedPlates(container, redraw) {
  const FIRST_MS = 40;  /* at once: a small district is there without a flicker */
  const NEXT_MS = 20;  /* then, in each frame */
  const waiting = [];

  function work(plate, until) {
    while (performance.now() < until) {
      if (plate.pieces.next().done) {
        plate.front = plate.back;
        plate.back = plate.pieces = null;
        return true;
      }
    }
    return false;
  }

  function busy() {
    container.setAttribute("aria-busy", String(waiting.length > 0));
  }

  function tick() {
    if (waiting.length && work(waiting[0], performance.now() + NEXT_MS)) { waiting.shift(); }
    busy();
    redraw();
    if (waiting.length) { requestAnimationFrame(tick); }
  }

  function begin(plate, v, pixels, size) {
    const canvas = document.createElement("canvas");
    canvas.width = size.width;
    canvas.height = size.height;
    const pen = canvas.getContext("2d");
    const fine = size.width / (pixels.max.x - pixels.min.x);
    pen.scale(fine, fine);
    pen.translate(-pixels.min.x, -pixels.min.y);
    plate.back = { canvas, v, at: pixels.min, fine };
    plate.pieces = plate.draw(pen, v, pixels);
    const at = waiting.indexOf(plate);
    if (at >= 0) { waiting.splice(at, 1); }
    /* Where one has to wait, so do those above it: the first moment is not spent on each. */
    if (waiting.length === 0 && work(plate, performance.now() + FIRST_MS)) { return; }
    waiting.push(plate);
    busy();
    if (waiting.length === 1) { requestAnimationFrame(tick); }
  }

  /* What was drawn at another place or scale is laid where it belongs until the new one is done. */
  function lay(context, drawn, v) {
    const ratio = v.scale / drawn.v.scale;
    if (ratio > 16 || ratio < 1 / 16) { return; }
    const x = (drawn.at.x + drawn.v.x) * ratio - v.x, y = (drawn.at.y + drawn.v.y) * ratio - v.y;
    const { canvas, fine } = drawn;
    context.drawImage(canvas, x, y, canvas.width / fine * ratio, canvas.height / fine * ratio);
  }

  /* A plate for `draw(pen, view, pixels)`, a generator that yields between pieces; `name()` changes
     with what is to be seen on it. */
  function plate(draw, name) {
    const own = { draw, key: "", front: null, back: null, pieces: null };
    return (context, v, pixels) => {
      const key = [name(), v.scale, v.x, v.y, pixels.min, pixels.max, context.canvas.width].join();
      if (key !== own.key) {
        own.key = key;
        begin(own, v, pixels, context.canvas);
      }
      if (own.front) { lay(context, own.front, v); }
      if (own.back) { lay(context, own.back, v); }
    };
  }

  function finish() {
    for (const one of waiting.splice(0)) { work(one, Infinity); }
    busy();
  }

  return { plate, finish };
}
