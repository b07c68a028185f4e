/* Lines on the plane: what a table carries as whole numbers, unpacked, traced and found again. */
"use strict";

const haulshedPlane = (() => {
  /* ---- positions: whole millionths of a degree to the plane of zoom 0, done once ---- */

  const planeX = (lon) => (lon / 1e6 + 180) / 360 * 256;
  const planeY = (lat) => {
    const sine = Math.sin(lat / 1e6 * Math.PI / 180);
    return 128 - 64 / Math.PI * Math.log((1 + sine) / (1 - sine));
  };
  const latLng = (pair) => L.latLng(pair[1] / 1e6, pair[0] / 1e6);
  const place = (pair) => pair.length ? [planeX(pair[0]), planeY(pair[1])] : null;

  function line(differences) {
    const flat = new Float64Array(differences.length);
    let lon = 0, lat = 0;
    for (let i = 0; i < flat.length; i += 2) {
      lon += differences[i];
      lat += differences[i + 1];
      flat[i] = planeX(lon);
      flat[i + 1] = planeY(lat);
    }
    return flat;
  }

  function item(lines) {
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    for (const flat of lines) {
      for (let i = 0; i < flat.length; i += 2) {
        box[0] = Math.min(box[0], flat[i]);
        box[1] = Math.min(box[1], flat[i + 1]);
        box[2] = Math.max(box[2], flat[i]);
        box[3] = Math.max(box[3], flat[i + 1]);
      }
    }
    return { lines, box };
  }

  function inside(box, v, pixels, margin) {
    return box[2] * v.scale - v.x >= pixels.min.x - margin && box[0] * v.scale - v.x <= pixels.max.x + margin
      && box[3] * v.scale - v.y >= pixels.min.y - margin && box[1] * v.scale - v.y <= pixels.max.y + margin;
  }

  /* Points that would fall on one pixel are passed over, and what is smaller than a pixel is drawn
     as one: nothing that can be seen is lost, and a whole county is drawn in one go. */
  const FINE = 0.7;

  function trace(context, flat, v, closed) {
    let x = flat[0] * v.scale - v.x, y = flat[1] * v.scale - v.y;
    const last = flat.length - 2;
    let drawn = false;
    context.moveTo(x, y);
    for (let i = 2; i <= last; i += 2) {
      const nextX = flat[i] * v.scale - v.x, nextY = flat[i + 1] * v.scale - v.y;
      if (Math.abs(nextX - x) + Math.abs(nextY - y) < FINE && (closed || i < last)) { continue; }
      context.lineTo(nextX, nextY);
      x = nextX;
      y = nextY;
      drawn = true;
    }
    if (closed && drawn) { context.closePath(); }
    if (closed && !drawn) { context.rect(x - FINE / 2, y - FINE / 2, 1.5 * FINE, 1.5 * FINE); }
  }

  const groups = (classes, count) => {
    const rows = Array.from({ length: count }, () => []);
    classes.forEach((number, row) => rows[number].push(row));
    return rows;
  };

  function crosses(flat, x, y) {
    let odd = false;
    for (let i = 0, j = flat.length - 2; i < flat.length; j = i, i += 2) {
      if ((flat[i + 1] > y) !== (flat[j + 1] > y)
        && x < (flat[j] - flat[i]) * (y - flat[i + 1]) / (flat[j + 1] - flat[i + 1]) + flat[i]) { odd = !odd; }
    }
    return odd;
  }

  function distance(x, y, flat, i) {
    const dx = flat[i] - flat[i - 2], dy = flat[i + 1] - flat[i - 1];
    const along = ((x - flat[i - 2]) * dx + (y - flat[i - 1]) * dy) / (dx * dx + dy * dy || 1);
    const share = Math.min(1, Math.max(0, along));
    return Math.hypot(flat[i - 2] + share * dx - x, flat[i - 1] + share * dy - y);
  }

  return { crosses, distance, groups, inside, item, latLng, line, place, trace };
})();
