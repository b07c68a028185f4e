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

  const ends = (counts) => {
    const sums = new Int32Array(counts.length + 1);
    for (let i = 0; i < counts.length; i++) { sums[i + 1] = sums[i] + counts[i]; }
    return sums;
  };

  /* The outlines of a table: `flat` has all positions, line `n` those from points[n] to points[n + 1],
     row `r` the lines from lines[r] to lines[r + 1]; a box and a first position [degrees] a row. */
  function outlines({ lines: counts, points: sizes, moves }) {
    const lines = ends(counts), points = ends(sizes);
    const flat = new Float64Array(moves.length);
    const box = new Float64Array(4 * counts.length), first = new Int32Array(2 * counts.length);
    let lon = 0, lat = 0, i = 0;
    for (let row = 0; row < counts.length; row++) {
      let west = Infinity, north = Infinity, east = -Infinity, south = -Infinity;
      const last = 2 * points[lines[row + 1]];
      for (let begun = false; i < last; i += 2) {
        lon += moves[i];
        lat += moves[i + 1];
        if (!begun) {
          begun = true;
          first[2 * row] = lon;
          first[2 * row + 1] = lat;
        }
        const x = flat[i] = planeX(lon), y = flat[i + 1] = planeY(lat);
        if (x < west) { west = x; }
        if (x > east) { east = x; }
        if (y < north) { north = y; }
        if (y > south) { south = y; }
      }
      box.set([west, north, east, south], 4 * row);
    }
    return { lines, points, flat, box, first };
  }

  /* Positions [degrees] from how far they are from each row's first one; NaN where there is none. */
  function places({ east, north }, { first }) {
    const found = new Float64Array(first.length).fill(NaN);
    for (let row = 0; row < east.length; row++) {
      if (east[row] === null) { continue; }
      found[2 * row] = (first[2 * row] + east[row]) / 1e6;
      found[2 * row + 1] = (first[2 * row + 1] + north[row]) / 1e6;
    }
    return found;
  }

  /* The same on the plane. */
  function onPlane(degrees) {
    const found = new Float64Array(degrees.length);
    for (let i = 0; i < found.length; i += 2) {
      found[i] = planeX(1e6 * degrees[i]);
      found[i + 1] = planeY(1e6 * degrees[i + 1]);
    }
    return found;
  }

  /* The box around all: of each row's, or of all positions. */
  function around(boxes) {
    const all = [Infinity, Infinity, -Infinity, -Infinity];
    for (const [flat, step] of boxes) {
      for (let i = 0; i < flat.length; i += step) {
        all[0] = Math.min(all[0], flat[i]);
        all[1] = Math.min(all[1], flat[i + 1]);
        all[2] = Math.max(all[2], flat[i + step - 2]);
        all[3] = Math.max(all[3], flat[i + step - 1]);
      }
    }
    return all;
  }

  /* Whether the box of a row meets the pixels to be drawn. */
  function inside(box, row, v, pixels, margin) {
    const i = 4 * row;
    return box[i + 2] * v.scale - v.x >= pixels.min.x - margin && box[i] * v.scale - v.x <= pixels.max.x + margin
      && box[i + 3] * v.scale - v.y >= pixels.min.y - margin && box[i + 1] * v.scale - v.y <= pixels.max.y + margin;
  }

  /* Says of things smaller than a pixel whether one of their kind is there already: looked at from
     afar they are drawn once a pixel. */
  function pixelsTaken(pixels) {
    const left = Math.floor(pixels.min.x) - 20, top = Math.floor(pixels.min.y) - 20;
    const wide = Math.ceil(pixels.max.x) + 20 - left, high = Math.ceil(pixels.max.y) + 20 - top;
    const seen = new Uint8Array(wide * high);
    return (x, y) => {
      const at = (Math.floor(y) - top) * wide + Math.floor(x) - left;
      const before = seen[at] === 1;
      seen[at] = 1;
      return before;
    };
  }

  /* Points that would fall on one pixel are passed over, and what is smaller than a pixel is drawn
     as one: nothing that can be seen is lost, and a whole county is drawn in one go. */
  const FINE = 0.7;

  function trace(context, flat, v, closed, from = 0, to = flat.length) {
    let x = flat[from] * v.scale - v.x, y = flat[from + 1] * v.scale - v.y;
    const last = to - 2;
    let drawn = false;
    context.moveTo(x, y);
    for (let i = from + 2; i <= last; i += 2) {
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

  function crosses(flat, from, to, x, y) {
    let odd = false;
    for (let i = from, j = to - 2; i < to; j = i, i += 2) {
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

  return {
    around, crosses, distance, groups, inside, latLng, line, onPlane, outlines, pixelsTaken, place, places, trace,
  };
})();
