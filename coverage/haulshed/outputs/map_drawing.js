/* The map's own drawing: whole tables on Leaflet's canvas, a sheet a table. */
"use strict";

function haulshedDrawing(map, tables, shown) {
  const { crosses, distance, groups, inside, item, latLng, line, place, trace } = haulshedPlane;
  const shapes = (table) => table.shape.map((lines) => item(lines.map(line)));

  const { page, parcels, roads, sites, stations } = tables;
  const areas = shapes(parcels);
  const ways = shapes(roads);
  const edge = item(page.boundary.map(line));
  const homes = parcels.at.map(place);

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

  const popup = (packed) => packed.map(([number, ...values]) => {
    let next = 0;
    return page.templates[number].replace(/\{\}/g, () => values[next++]);
  }).join("");

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

  function spot(context, flat, v) {
    const x = flat[0] * v.scale - v.x, y = flat[1] * v.scale - v.y, radius = spotRadius();
    context.moveTo(x + radius, y);
    context.arc(x, y, radius, 0, 2 * Math.PI);
  }

  const spotRadius = () => 5.5 * swell();

  const parcelSheet = new Sheet((context, v, pixels) => {
    const { fills, rows } = now().byKind[shown.parcels] ?? { fills: [] };
    context.lineJoin = "round";
    fills.forEach((fill, number) => {
      context.beginPath();
      for (const row of rows[number]) {
        const area = areas[row];
        if (!inside(area.box, v, pixels, 10)) { continue; }
        for (const flat of area.lines) {
          if (flat.length === 2) { spot(context, flat, v); } else { trace(context, flat, v, true); }
        }
      }
      context.globalAlpha = page.opacity;
      context.fillStyle = fill.colour;
      context.fill("evenodd");
      context.globalAlpha = 1;
      if (fill.hatch) {
        context.fillStyle = hatch(context, fill);
        context.fill("evenodd");
      }
      const border = 0.5 * swell();
      if (border > 0.3) {  /* from afar, borders would hide the colours */
        context.strokeStyle = fill.hatch ? fill.hatch_colour : "#6f636b";
        context.lineWidth = Math.min(1, border);
        context.stroke();
      }
    });
  }, (pixel, v) => shown.parcels ? findArea(pixel, v) : -1);

  function findArea(pixel, v) {
    const x = (pixel.x + v.x) / v.scale, y = (pixel.y + v.y) / v.scale;
    const reach = (spotRadius() + 2) / v.scale;
    for (let row = areas.length - 1; row >= 0; row--) {
      const { box, lines } = areas[row];
      if (x < box[0] - reach || x > box[2] + reach || y < box[1] - reach || y > box[3] + reach) { continue; }
      let odd = false;
      for (const flat of lines) {
        if (flat.length === 2 ? Math.hypot(flat[0] - x, flat[1] - y) <= reach : crosses(flat, x, y)) { odd = !odd; }
      }
      if (odd) { return row; }
    }
    return -1;
  }

  /* ---- roads: pale casing under all, then least flow first ---- */

  const roadOrder = [page.flowStrokes.length - 1, ...page.flowStrokes.keys()].slice(0, page.flowStrokes.length);

  const roadSheet = new Sheet((context, v, pixels) => {
    if (!shown.roads) { return; }
    const grown = swell(), { roadRows } = now();
    context.lineJoin = "round";
    for (const casing of [true, false]) {
      for (const number of roadOrder) {
        const stroke = page.flowStrokes[number];
        if (casing && stroke.width_px < 1) { continue; }
        context.beginPath();
        for (const row of roadRows[number]) {
          if (inside(ways[row].box, v, pixels, 10)) {
            for (const flat of ways[row].lines) { trace(context, flat, v, false); }
          }
        }
        context.lineCap = stroke.dash.length && !casing ? "butt" : "round";
        context.setLineDash(casing ? [] : stroke.dash);
        context.strokeStyle = casing ? "#ffffff" : stroke.colour;
        context.lineWidth = stroke.width_px * grown + (casing ? 1.6 * Math.min(grown, 1) - 0.6 : 0);
        context.stroke();
      }
    }
  }, (pixel, v) => shown.roads ? findWay(pixel, v) : -1);

  function findWay(pixel, v) {
    const x = (pixel.x + v.x) / v.scale, y = (pixel.y + v.y) / v.scale;
    let near = 5 / v.scale, found = -1;
    ways.forEach(({ box, lines }, row) => {
      if (x < box[0] - near || x > box[2] + near || y < box[1] - near || y > box[3] + near) { return; }
      for (const flat of lines) {
        for (let i = 2; i < flat.length; i += 2) {
          const away = distance(x, y, flat, i);
          if (away < near) { near = away; found = row; }
        }
      }
    });
    return found;
  }

  /* ---- marks: thinned to one a cell, so that they stay legible from afar ---- */

  function thinned(rows, v, pixels, cell) {
    const taken = new Set();
    const kept = [];
    for (const row of rows) {
      if (!homes[row]) { continue; }
      const x = homes[row][0] * v.scale, y = homes[row][1] * v.scale;
      if (x - v.x < pixels.min.x || x - v.x > pixels.max.x || y - v.y < pixels.min.y || y - v.y > pixels.max.y) { continue; }
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
    context.beginPath();
    path();
    context.strokeStyle = "#ffffff";
    context.lineWidth = outer;
    context.stroke();
    context.strokeStyle = context.fillStyle = page.ink;
    context.lineWidth = inner;
    context.stroke();
  }

  const markSheet = new Sheet((context, v, pixels) => {
    const size = 3.4 * Math.min(1.3, Math.max(0.85, swell()));
    const cell = 30 / Math.min(2.5, Math.max(1, swell() ** 2));
    if (shown.tight) {
      const at = thinned(now().tightRows, v, pixels, cell);
      twice(context, () => at.forEach(([x, y]) => {
        context.moveTo(x + size * 0.8, y);
        context.arc(x, y, size * 0.8, 0, 2 * Math.PI);
      }), 3.2, 1.2);
      context.fill();
    }
    if (shown.cross) {
      const at = thinned(now().crossRows, v, pixels, cell);
      context.lineCap = "round";
      twice(context, () => at.forEach(([x, y]) => {
        context.moveTo(x - size, y - size);
        context.lineTo(x + size, y + size);
        context.moveTo(x - size, y + size);
        context.lineTo(x + size, y - size);
      }), 4, 1.8);
    }
  });

  /* ---- boundary, and what was asked for last ---- */

  let chosen = -1;

  const frameSheet = new Sheet((context, v) => {
    context.lineJoin = "round";
    context.beginPath();
    for (const flat of edge.lines) { trace(context, flat, v, true); }
    context.setLineDash([12, 4, 2, 4]);
    context.strokeStyle = page.ink;
    context.lineWidth = 1.6;
    context.stroke();
    context.setLineDash([]);
    if (chosen < 0) { return; }
    const access = place(parcels.access[chosen]), home = homes[chosen];
    twice(context, () => areas[chosen].lines.forEach((flat) => {
      if (flat.length === 2) { spot(context, flat, v); } else { trace(context, flat, v, true); }
    }), 6, 2.6);
    if (!access || !home) { return; }
    context.setLineDash([4, 3]);
    twice(context, () => trace(context, [...home, ...access], v, false), 4, 1.6);
    context.setLineDash([]);
    twice(context, () => context.arc(access[0] * v.scale - v.x, access[1] * v.scale - v.y, 3.5, 0, 2 * Math.PI), 4, 1.6);
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

  const all = item([...areas, ...ways, edge].flatMap(({ lines }) => lines)
    .concat(now().signs.map(({ at }) => Float64Array.from(at)))).box;
  const cornerOf = (box, x, y) => map.unproject(L.point(box[x], box[y]), 0);
  map.setMaxZoom(19);
  map.options.zoomSnap = 0;  /* any scale will do: nothing is drawn beforehand */
  if (all[0] <= all[2]) {
    map.fitBounds(L.latLngBounds(cornerOf(all, 0, 1), cornerOf(all, 2, 3)), { padding: [18, 18], animate: false });
    const apart = Math.sqrt((all[2] - all[0]) * (all[3] - all[1]) / Math.max(areas.length, 500));
    plainZoom = Math.log2(11 / apart);
  }

  map.options.renderer = L.canvas({ padding: 0.3 });
  const sheets = [parcelSheet, roadSheet, markSheet, frameSheet, signSheet];
  sheets.forEach((sheet) => sheet.addTo(map));

  function ask(packed, at, picture = "") {
    map.openPopup(popup(packed) + picture, at, { maxWidth: Math.min(360, map.getSize().x - 60), maxHeight: map.getSize().y - 60 });
  }

  function choose(row, at) {
    chosen = row;
    frameSheet.redraw();
    ask(now().parcels.popup[row], at, haulshedBuildUp(page, now().parcels.clock?.[row]));
  }

  parcelSheet.on("click", (event) => choose(parcelSheet.hit, event.latlng));
  roadSheet.on("click", (event) => ask(now().roads.popup[roadSheet.hit], event.latlng));
  signSheet.on("click", () => {
    const one = now().signs[signSheet.hit];
    ask(one.table.popup[one.row], latLng(one.table.at[one.row]));
  });
  map.on("popupclose", () => {
    chosen = -1;
    frameSheet.redraw();
  });

  function show(row) {
    const at = homes[row] ? latLng(parcels.at[row]) : cornerOf(areas[row].box, 0, 1);
    map.setView(at, Math.max(map.getZoom(), page.closeZoom), { animate: false });
    choose(row, at);
  }

  return { show, repaint: () => sheets.forEach((sheet) => sheet.redraw()) };
}
