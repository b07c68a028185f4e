/* The map's own drawing: whole tables on Leaflet's canvas, a sheet a table. */
"use strict";

function haulshedDrawing(map, tables, shown) {
  const { around, crosses, distance, groups, inside, latLng, line, onPlane, pixelsTaken, place, places, trace } = haulshedPlane;

  const { page, parcels, roads, sites, stations, areas, ways } = tables;
  const edge = page.boundary.map(line);
  const homesAt = places(parcels.at, areas), homes = onPlane(homesAt);
  const plates = haulshedPlates(map.getContainer(), () => parcelSheet.redraw());
  const access = onPlane(places(parcels.access, areas));

  /* A map of several states of the district carries `views`: what differs from the first one. The
     rows of parcels and roads are the same in all of them. */
  const views = page.views ?? [{}];
  const known = new Map();

  function state(number) {
    const of = views[number];
    const own = { ...parcels, ...of.parcels };
    const fills = {
      verdict: page.verdictFills, flow: page.flowFills, held90: page.flowFills, gain: page.gainFills,
    };
    const kinds = Object.keys(fills).filter((kind) => fills[kind] && own[kind]);
    return {
      parcels: own, roads: { ...roads, ...of.roads },
      byKind: Object.fromEntries(kinds.map((kind) => [
        kind, { fills: fills[kind], rows: groups(own[kind], fills[kind].length) },
      ])),
      crossRows: marked(own.cross), tightRows: marked(own.tight), liftedRows: marked(own.lifted ?? []),
      roadRows: groups((of.roads ?? roads).flow, page.flowStrokes.length),
      signs: signsOf(of.fill_sites ?? sites, of.stations ?? stations),
    };
  }

  function now() {
    const number = Number(shown.view ?? 0);
    if (!known.has(number)) { known.set(number, state(number)); }
    return known.get(number);
  }

  /* ---- what is said of a row: the templates of its kind, each gap filled ---- */

  const ranks = new Map();

  /* How many popups of its kind stand before each. */
  function ranksOf(said) {
    if (!ranks.has(said)) {
      const before = new Int32Array(said.shapes.length);
      ranks.set(said, Int32Array.from(said.of, (kind) => before[kind]++));
    }
    return ranks.get(said);
  }

  function popup(said, row) {
    const kind = said.of[row], rank = ranksOf(said)[row];
    let column = 0;
    return said.shapes[kind].map((number) => {
      let gap = 0;
      return page.templates[number].replace(/\{\}/g, () => page.words[number][gap++][said.columns[kind][column++][rank]]);
    }).join("");
  }

  /* ---- a sheet: one Leaflet path that paints and finds the rows of a whole table ---- */

  /* Pixel of the canvas = plane * scale - origin. */
  function view() {
    const origin = map.getPixelOrigin();
    return { scale: 2 ** map.getZoom(), x: origin.x, y: origin.y };
  }

  const Sheet = L.Path.extend({
    initialize(paint, find) {
      L.setOptions(this, { interactive: Boolean(find), weight: 0 });
      this._paint = paint;
      this._find = find;
    },
    _project() { /* nothing to keep: a pixel is one multiplication away */ },
    _update() {
      if (this._map) {
        this._pxBounds = this._renderer._bounds;
        this._updatePath();
      }
    },
    _updatePath() {
      if (!this._renderer._drawing) { return; }
      const context = this._renderer._ctx;
      context.save();
      this._paint(context, view(), this._renderer._bounds);
      context.restore();
    },
    _containsPoint(pixel) {
      this.hit = this._find(pixel, view());
      return this.hit >= 0;
    },
    redraw() {
      if (this._map) { this._renderer._updatePath(this); }
    },
  });

  /* Signs and lines grow with the ground, only more slowly: at `plainZoom`, where the parcels stand
     about 11 pixels apart, they have the size that the legend shows. */
  let plainZoom = 0;
  const swell = () => Math.min(1.7, Math.max(0.45, 2 ** ((map.getZoom() - plainZoom) / 2.5)));

  /* ---- parcels ---- */

  function hatch(context, fill) {
    const tile = document.createElement("canvas");
    const fine = window.devicePixelRatio || 1;
    tile.width = tile.height = Math.round(8 * fine);
    const pen = tile.getContext("2d");
    pen.scale(tile.width / 8, tile.width / 8);
    pen.strokeStyle = fill.hatch_colour;
    pen.lineWidth = 1.1;
    pen.stroke(new Path2D(fill.hatch));
    const pattern = context.createPattern(tile, "repeat");
    pattern.setTransform(new DOMMatrix().scale(8 / tile.width));
    return pattern;
  }

  function spot(context, flat, at, v) {
    const x = flat[at] * v.scale - v.x, y = flat[at + 1] * v.scale - v.y, radius = spotRadius();
    context.moveTo(x + radius, y);
    context.arc(x, y, radius, 0, 2 * Math.PI);
  }

  const spotRadius = () => 5.5 * swell();
  const whatIsShown = () => JSON.stringify(shown);

  function* pieces(rows, { box }, v, pixels, size) {
    let piece = [];
    for (const row of rows) {
      if (!inside(box, row, v, pixels, 10)) { continue; }
      piece.push(row);
      if (piece.length === size) {
        yield piece;
        piece = [];
      }
    }
    if (piece.length) { yield piece; }
  }

  const small = ({ box }, row, v) => Math.max(box[4 * row + 2] - box[4 * row], box[4 * row + 3] - box[4 * row + 1]) * v.scale < 1;

  /* Whether a row is smaller than a pixel that another of its kind has taken. */
  const hidden = (table, row, v, taken) => small(table, row, v)
    && taken(table.box[4 * row] * v.scale - v.x, table.box[4 * row + 1] * v.scale - v.y);

  function outlined(row, v, area, spots) {
    const { lines, points, flat } = areas;
    for (let n = lines[row]; n < lines[row + 1]; n++) {
      const from = 2 * points[n], to = 2 * points[n + 1];
      if (to - from === 2) { spot(spots, flat, from, v); } else { trace(area, flat, v, true, from, to); }
    }
  }

  const parcelPlate = plates.plate(function* draw(context, v, pixels) {
    const { fills, rows } = now().byKind[shown.parcels] ?? { fills: [] };
    const border = 0.5 * swell();
    context.lineJoin = "round";
    for (const [number, fill] of fills.entries()) {
      const taken = pixelsTaken(pixels), hatched = fill.hatch && hatch(context, fill);
      for (const piece of pieces(rows[number], areas, v, pixels, 1000)) {
        const area = new Path2D(), spots = new Path2D();
        for (const row of piece) {
          if (!hidden(areas, row, v, taken)) { outlined(row, v, area, spots); }
        }
        const colour = (style) => {
          context.fillStyle = style;
          context.fill(area, "evenodd");
          context.fill(spots);
        };
        context.globalAlpha = page.opacity;
        colour(fill.colour);
        context.globalAlpha = 1;
        if (hatched) { colour(hatched); }
        if (border > 0.3) {  /* from afar, borders would hide the colours */
          context.strokeStyle = fill.hatch ? fill.hatch_colour : "#6f636b";
          context.lineWidth = Math.min(1, border);
          context.stroke(area);
          context.stroke(spots);
        }
        yield;
      }
    }
  }, whatIsShown);

  const parcelSheet = new Sheet(parcelPlate, (pixel, v) => shown.parcels ? findArea(pixel, v) : -1);

  function findArea(pixel, v) {
    const x = (pixel.x + v.x) / v.scale, y = (pixel.y + v.y) / v.scale;
    const reach = (spotRadius() + 2) / v.scale;
    const { lines, points, flat, box } = areas;
    for (let row = lines.length - 2, i = 4 * row; row >= 0; row--, i -= 4) {
      if (x < box[i] - reach || x > box[i + 2] + reach || y < box[i + 1] - reach || y > box[i + 3] + reach) { continue; }
      let odd = false;
      for (let n = lines[row]; n < lines[row + 1]; n++) {
        const from = 2 * points[n], to = 2 * points[n + 1];
        if (to - from === 2 ? Math.hypot(flat[from] - x, flat[from + 1] - y) <= reach : crosses(flat, from, to, x, y)) { odd = !odd; }
      }
      if (odd) { return row; }
    }
    return -1;
  }

  /* ---- roads: pale casing under all, then least flow first ---- */

  const roadOrder = [page.flowStrokes.length - 1, ...page.flowStrokes.keys()].slice(0, page.flowStrokes.length);

  const roadPlate = plates.plate(function* draw(context, v, pixels) {
    if (!shown.roads) { return; }
    const grown = swell(), { roadRows } = now(), { lines, points, flat } = ways;
    const rim = 1.6 * Math.min(grown, 1) - 0.6;
    context.lineJoin = "round";
    for (const casing of rim > 0.3 ? [true, false] : [false]) {
      for (const number of roadOrder) {
        const stroke = page.flowStrokes[number];
        if (casing && stroke.width_px < 1) { continue; }
        const taken = pixelsTaken(pixels);
        context.lineCap = stroke.dash.length && !casing ? "butt" : rim > 0.3 ? "round" : "square";
        context.setLineDash(casing ? [] : stroke.dash);
        context.strokeStyle = casing ? "#ffffff" : stroke.colour;
        context.lineWidth = stroke.width_px * grown + (casing ? rim : 0);
        for (const piece of pieces(roadRows[number], ways, v, pixels, 500)) {
          context.beginPath();
          for (const row of piece) {
            if (hidden(ways, row, v, taken)) { continue; }
            for (let n = lines[row]; n < lines[row + 1]; n++) { trace(context, flat, v, false, 2 * points[n], 2 * points[n + 1]); }
          }
          context.stroke();
          yield;
        }
      }
    }
  }, whatIsShown);

  const roadSheet = new Sheet(roadPlate, (pixel, v) => shown.roads ? findWay(pixel, v) : -1);

  function findWay(pixel, v) {
    const x = (pixel.x + v.x) / v.scale, y = (pixel.y + v.y) / v.scale;
    const { lines, points, flat, box } = ways;
    let near = 5 / v.scale, found = -1;
    for (let row = 0, i = 0; row < lines.length - 1; row++, i += 4) {
      if (x < box[i] - near || x > box[i + 2] + near || y < box[i + 1] - near || y > box[i + 3] + near) { continue; }
      for (let n = lines[row]; n < lines[row + 1]; n++) {
        for (let at = 2 * points[n] + 2; at < 2 * points[n + 1]; at += 2) {
          const away = distance(x, y, flat, at);
          if (away < near) { near = away; found = row; }
        }
      }
    }
    return found;
  }

  /* ---- marks: thinned to one a cell, so that they stay legible from afar ---- */

  function thinned(rows, v, pixels, cell) {
    const taken = new Set();
    const kept = [];
    for (const row of rows) {
      const x = homes[2 * row] * v.scale, y = homes[2 * row + 1] * v.scale;  /* NaN where there is none */
      if (!(x - v.x >= pixels.min.x && x - v.x <= pixels.max.x && y - v.y >= pixels.min.y && y - v.y <= pixels.max.y)) { continue; }
      const key = Math.floor(x / cell) * 1e7 + Math.floor(y / cell);
      if (!taken.has(key)) {
        taken.add(key);
        kept.push([x - v.x, y - v.y]);
      }
    }
    return kept;
  }

  function marked(flags) { return [...flags.keys()].filter((row) => flags[row]); }

  function twice(context, path, outer, inner) {
    context.strokeStyle = "#ffffff";
    context.lineWidth = outer;
    context.stroke(path);
    context.strokeStyle = context.fillStyle = page.ink;
    context.lineWidth = inner;
    context.stroke(path);
  }

  const cross = (path, x, y, size) => {
    path.moveTo(x - size, y - size);
    path.lineTo(x + size, y + size);
    path.moveTo(x - size, y + size);
    path.lineTo(x + size, y - size);
  };
  const plus = (path, x, y, size) => {
    path.moveTo(x - size, y);
    path.lineTo(x + size, y);
    path.moveTo(x, y - size);
    path.lineTo(x, y + size);
  };
  const dot = (path, x, y, size) => {
    path.moveTo(x + 0.8 * size, y);
    path.arc(x, y, 0.8 * size, 0, 2 * Math.PI);
  };

  const markPlate = plates.plate(function* draw(context, v, pixels) {
    const size = 3.4 * Math.min(1.3, Math.max(0.85, swell()));
    const cell = 30 / Math.min(2.5, Math.max(1, swell() ** 2));
    const { tightRows, crossRows, liftedRows } = now();
    const marks = [["tight", tightRows, dot, 3.2, 1.2], ["cross", crossRows, cross, 4, 1.8], ["lifted", liftedRows, plus, 5, 2.4]];
    for (const [layer, rows, mark, outer, inner] of marks) {
      if (!shown[layer]) { continue; }
      const path = new Path2D();
      for (const [x, y] of thinned(rows, v, pixels, cell)) { mark(path, x, y, size); }
      context.lineCap = layer === "tight" ? "butt" : "round";
      twice(context, path, outer, inner);
      if (mark === dot) { context.fill(path); }
      yield;
    }
  }, whatIsShown);

  const markSheet = new Sheet(markPlate);

  /* ---- boundary, and what was asked for last ---- */

  let chosen = -1;

  const frameSheet = new Sheet((context, v) => {
    context.lineJoin = "round";
    context.beginPath();
    for (const flat of edge) { trace(context, flat, v, true); }
    context.setLineDash([12, 4, 2, 4]);
    context.strokeStyle = page.ink;
    context.lineWidth = 1.6;
    context.stroke();
    context.setLineDash([]);
    if (chosen < 0) { return; }
    const from = homes.slice(2 * chosen, 2 * chosen + 2), to = access.slice(2 * chosen, 2 * chosen + 2);
    const area = new Path2D();
    outlined(chosen, v, area, area);
    twice(context, area, 6, 2.6);
    if (Number.isNaN(from[0] + to[0])) { return; }
    const lay = new Path2D(), end = new Path2D();
    trace(lay, [...from, ...to], v, false);
    end.arc(to[0] * v.scale - v.x, to[1] * v.scale - v.y, 3.5, 0, 2 * Math.PI);
    context.setLineDash([4, 3]);
    twice(context, lay, 4, 1.6);
    context.setLineDash([]);
    twice(context, end, 4, 1.6);
  });

  /* ---- fill sites and stations, with as many labels as find room ---- */

  function signsOf(water, houses) {
    const byRank = (a, b) => water.rank[a] - water.rank[b];
    return [
      ...[...water.at.keys()].sort(byRank).map((row) => sign(water, row, "sites")),
      ...[...houses.at.keys()].map((row) => sign(houses, row, "stations")),
    ];
  }

  function sign(table, row, layer) {
    return {
      table, row, layer, at: place(table.at[row]), outline: new Path2D(table.outline[row]), letter: table.letter[row],
      fill: table.fill[row], ink: table.ink[row], open: table.open[row], label: table.label[row],
    };
  }

  const signSize = () => Math.min(1, Math.max(0.75, swell()));

  const signSheet = new Sheet((context, v, pixels) => {
    const grown = signSize();
    const visible = now().signs.filter((one) => {
      one.x = one.at[0] * v.scale - v.x;
      one.y = one.at[1] * v.scale - v.y;
      return shown[one.layer] && one.x > pixels.min.x && one.x < pixels.max.x && one.y > pixels.min.y && one.y < pixels.max.y;
    });
    const taken = visible.map((one) => [one.x - 10 * grown, one.y - 10 * grown, one.x + 10 * grown, one.y + 10 * grown]);
    [...visible].reverse().forEach((one) => paintSign(context, one, grown));
    const corner = map.containerPointToLayerPoint([0, 0]);
    const seen = L.bounds(corner, corner.add(map.getSize()));
    visible.forEach((one) => paintLabel(context, one, grown, taken, seen));
  }, (pixel) => {
    const reach = 11 * signSize();
    const { signs } = now();
    const found = signs.find((one) => shown[one.layer] && Math.hypot(one.x - pixel.x, one.y - pixel.y) <= reach);
    return found ? signs.indexOf(found) : -1;
  });

  function paintSign(context, one, grown) {
    context.save();
    context.translate(one.x, one.y);
    context.scale(grown, grown);
    context.translate(-10, -10);
    context.lineJoin = "round";
    context.strokeStyle = "#ffffff";
    context.lineWidth = 5;
    context.stroke(one.outline);
    context.fillStyle = one.open ? one.fill : "#ffffff";
    context.fill(one.outline);
    context.strokeStyle = page.ink;
    context.lineWidth = 1.8;
    context.setLineDash(one.open ? [] : [3, 2.5]);
    context.stroke(one.outline);
    context.fillStyle = one.open ? one.ink : page.ink;
    context.font = "700 11px system-ui, sans-serif";
    context.textAlign = "center";
    context.fillText(one.letter, 10, 14);
    context.restore();
  }

  function paintLabel(context, one, grown, taken, seen) {
    context.textAlign = "left";
    /* From afar the name alone: figures would hide the parcels that they stand on. */
    const label = swell() < 1.2 ? one.label.slice(0, 1) : one.label;
    const size = Math.min(11.5, Math.max(10, 11.5 * swell()));
    const fonts = [`600 ${size}px system-ui, sans-serif`, "500 11px system-ui, sans-serif"];
    const wides = label.map((text, number) => {
      context.font = fonts[number];
      return context.measureText(text).width;
    });
    const wide = Math.max(...wides);
    const high = 13 * label.length, gap = 10 * grown + 7;
    const free = [
      [one.x + gap, one.y - high / 2], [one.x - gap - wide, one.y - high / 2],
      [one.x - wide / 2, one.y + gap], [one.x - wide / 2, one.y - gap - high],
    ].filter(([x, y]) => !taken.some((box) => x < box[2] + 6 && x + wide > box[0] - 6 && y < box[3] + 3 && y + high > box[1] - 3));
    /* No label is cut off at the window's edge; beyond it they wait to be dragged in. */
    const inWindow = ([x, y], right, below) => x >= seen.min.x && x + right <= seen.max.x && y >= seen.min.y && y + below <= seen.max.y;
    const corner = inWindow([one.x, one.y], 0, 0) ? free.find((at) => inWindow(at, wide + 4, high)) : free[0];
    if (!corner) { return; }
    taken.push([corner[0], corner[1], corner[0] + wide, corner[1] + high]);
    label.forEach((text, number) => {
      const y = corner[1] + 13 * number + 10;
      context.font = fonts[number];
      context.fillStyle = "rgba(255, 255, 255, 0.86)";
      context.fillRect(corner[0] - 2, y - 11, wides[number] + 4, 13);
      context.fillStyle = page.ink;
      context.fillText(text, corner[0], y);
    });
  }

  /* ---- the sheets on the map, lowest first; popups ---- */

  const all = around([[areas.box, 4], [ways.box, 4], ...edge.map((flat) => [flat, 2]),
    ...now().signs.map(({ at }) => [at, 2])]);
  const cornerOf = (box, x, y) => map.unproject(L.point(box[x], box[y]), 0);
  map.setMaxZoom(19);
  map.options.zoomSnap = 0;  /* any scale will do: nothing is drawn beforehand */
  if (all[0] <= all[2]) {
    map.fitBounds(L.latLngBounds(cornerOf(all, 0, 1), cornerOf(all, 2, 3)), { padding: [18, 18], animate: false });
    const apart = Math.sqrt((all[2] - all[0]) * (all[3] - all[1]) / Math.max(parcels.id.length, 500));
    plainZoom = Math.log2(11 / apart);
  }

  map.options.renderer = L.canvas({ padding: 0.3 });
  const sheets = [parcelSheet, roadSheet, markSheet, frameSheet, signSheet];
  sheets.forEach((sheet) => sheet.addTo(map));

  function ask(table, row, at, picture = "") {
    const room = map.getSize();
    map.closeTooltip(tip);
    map.openPopup(popup(table.popup, row) + picture, at, { maxWidth: Math.min(360, room.x - 60), maxHeight: room.y - 60 });
  }

  function choose(row, at) {
    chosen = row;
    frameSheet.redraw();
    ask(now().parcels, row, at, haulshedBuildUp(page, now().parcels.clock?.[row]));
  }

  const signHit = () => now().signs[signSheet.hit];
  parcelSheet.on("click", (event) => choose(parcelSheet.hit, event.latlng));
  roadSheet.on("click", (event) => ask(now().roads, roadSheet.hit, event.latlng));
  signSheet.on("click", () => ask(signHit().table, signHit().row, latLng(signHit().table.at[signHit().row])));
  map.on("popupclose", () => {
    chosen = -1;
    frameSheet.redraw();
  });

  /* ---- in passing: the answer in a line, above the pointer ---- */

  const tip = L.tooltip({ direction: "top", offset: [0, -8], opacity: 1 });
  const word = document.createElement("template");

  function headline(table, row) {
    word.innerHTML = popup(table.popup, row);
    return word.content.querySelector("h2").textContent;
  }

  function hover(sheet, told) {
    let last = null, asked = null;
    const nameOf = () => `${shown.view} ${sheet.hit}`;
    sheet.on("click", () => { asked = nameOf(); });
    sheet.on("mousemove", (event) => {
      const name = nameOf();
      if (name === asked) { return; }  /* its popup says more */
      asked = null;
      if (name !== last) {
        const text = document.createElement("span");
        text.textContent = told(sheet.hit);
        tip.setContent(text);
        last = name;
      }
      tip.setLatLng(event.latlng);
      if (!map.hasLayer(tip)) { map.openTooltip(tip); }
    });
    sheet.on("mouseout", () => {
      last = null;
      map.closeTooltip(tip);
    });
  }

  hover(parcelSheet, (row) => `${parcels.id[row]}, ${page.verdicts[now().parcels.verdict[row]]}: ${headline(now().parcels, row)}`);
  hover(roadSheet, (row) => headline(now().roads, row));
  hover(signSheet, () => signHit().label.join(", "));

  function show(row) {
    const home = homesAt.slice(2 * row, 2 * row + 2);
    const at = Number.isNaN(home[0]) ? cornerOf(areas.box, 4 * row, 4 * row + 1) : L.latLng(home[1], home[0]);
    map.setView(at, Math.max(map.getZoom(), page.closeZoom), { animate: false });
    choose(row, at);
  }

  /* Draws at once what waits its turn: for paper. */
  function finish() {
    const canvas = parcelSheet._renderer;
    const drawAll = () => {
      canvas._redrawBounds = null;
      canvas._redraw();
    };
    drawAll();
    plates.finish();
    drawAll();
  }

  const repaint = () => sheets.forEach((sheet) => sheet.redraw());
  return { show, repaint, finish };
}
