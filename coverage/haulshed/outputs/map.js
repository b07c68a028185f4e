/* The map's own drawing: whole tables on Leaflet's canvas, each read once from its JSON. */
"use strict";

function haulshedMap(map) {
  const read = (name) => JSON.parse(document.getElementById("haulshed-" + name).textContent);
  const page = read("page");
  const shown = { parcels: "verdict", roads: true, sites: true, stations: true, cross: true, tight: true };

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

  const shapes = (table) => table.shape.map((lines) => item(lines.map(line)));

  const parcels = read("parcels");
  const roads = read("roads");
  const sites = read("fill_sites");
  const stations = read("stations");
  const areas = shapes(parcels);
  const ways = shapes(roads);
  const edge = item(page.boundary.map(line));
  const homes = parcels.at.map(place);

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

  function inside(box, v, pixels, margin) {
    return box[2] * v.scale - v.x >= pixels.min.x - margin && box[0] * v.scale - v.x <= pixels.max.x + margin
      && box[3] * v.scale - v.y >= pixels.min.y - margin && box[1] * v.scale - v.y <= pixels.max.y + margin;
  }

  function trace(context, flat, v, closed) {
    context.moveTo(flat[0] * v.scale - v.x, flat[1] * v.scale - v.y);
    for (let i = 2; i < flat.length; i += 2) {
      context.lineTo(flat[i] * v.scale - v.x, flat[i + 1] * v.scale - v.y);
    }
    if (closed) { context.closePath(); }
  }

  const groups = (classes, count) => {
    const rows = Array.from({ length: count }, () => []);
    classes.forEach((number, row) => rows[number].push(row));
    return rows;
  };

  /* Signs and lines grow more slowly than the ground when zooming in. */
  let wholeZoom = 0;
  const swell = () => Math.min(1.7, Math.max(0.45, 2 ** ((map.getZoom() - wholeZoom) / 3)));

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

  const byKind = {
    verdict: { fills: page.verdictFills, rows: groups(parcels.verdict, page.verdictFills.length) },
    flow: { fills: page.flowFills, rows: groups(parcels.flow, page.flowFills.length) },
  };

  function spot(context, flat, v) {
    const x = flat[0] * v.scale - v.x, y = flat[1] * v.scale - v.y, radius = spotRadius();
    context.moveTo(x + radius, y);
    context.arc(x, y, radius, 0, 2 * Math.PI);
  }

  const spotRadius = () => 5.5 * swell();

  const parcelSheet = new Sheet((context, v, pixels) => {
    if (!shown.parcels) { return; }
    const { fills, rows } = byKind[shown.parcels];
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
      context.strokeStyle = "#6f636b";
      context.lineWidth = Math.min(1, 0.5 * swell());
      context.stroke();
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

  function crosses(flat, x, y) {
    let odd = false;
    for (let i = 0, j = flat.length - 2; i < flat.length; j = i, i += 2) {
      if ((flat[i + 1] > y) !== (flat[j + 1] > y)
        && x < (flat[j] - flat[i]) * (y - flat[i + 1]) / (flat[j + 1] - flat[i + 1]) + flat[i]) { odd = !odd; }
    }
    return odd;
  }

  /* ---- roads: pale casing under all, then least flow first ---- */

  const roadRows = groups(roads.flow, page.flowStrokes.length);
  const roadOrder = [page.flowStrokes.length - 1, ...page.flowStrokes.keys()].slice(0, page.flowStrokes.length);

  const roadSheet = new Sheet((context, v, pixels) => {
    if (!shown.roads) { return; }
    const grown = swell();
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
        context.lineWidth = stroke.width_px * grown + (casing ? 1.6 * Math.min(grown, 1) : 0);
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

  function distance(x, y, flat, i) {
    const dx = flat[i] - flat[i - 2], dy = flat[i + 1] - flat[i - 1];
    const along = ((x - flat[i - 2]) * dx + (y - flat[i - 1]) * dy) / (dx * dx + dy * dy || 1);
    const share = Math.min(1, Math.max(0, along));
    return Math.hypot(flat[i - 2] + share * dx - x, flat[i - 1] + share * dy - y);
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

  const marked = (flags) => [...flags.keys()].filter((row) => flags[row]);
  const crossRows = marked(parcels.cross);
  const tightRows = marked(parcels.tight);

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
    const size = 3.6 * Math.min(1.3, Math.max(0.8, swell()));
    const cell = 8.5 * size / Math.min(2, Math.max(1, swell()));
    if (shown.tight) {
      const at = thinned(tightRows, v, pixels, cell);
      twice(context, () => at.forEach(([x, y]) => {
        context.moveTo(x + size * 0.8, y);
        context.arc(x, y, size * 0.8, 0, 2 * Math.PI);
      }), 3.2, 1.2);
      context.fill();
    }
    if (shown.cross) {
      const at = thinned(crossRows, v, pixels, cell);
      context.lineCap = "round";
      twice(context, () => at.forEach(([x, y]) => {
        context.moveTo(x - size, y - size);
        context.lineTo(x + size, y + size);
        context.moveTo(x - size, y + size);
        context.lineTo(x + size, y - size);
      }), 4.6, 2);
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

  const byRank = (a, b) => sites.rank[a] - sites.rank[b];
  const signs = [
    ...[...stations.at.keys()].map((row) => sign(stations, row, "stations")),
    ...[...sites.at.keys()].sort(byRank).map((row) => sign(sites, row, "sites")),
  ];

  function sign(table, row, layer) {
    return {
      table, row, layer, at: place(table.at[row]), outline: new Path2D(table.outline[row]), letter: table.letter[row],
      fill: table.fill[row], ink: table.ink[row], open: table.open[row], label: table.label[row],
    };
  }

  const signSize = () => Math.min(1, Math.max(0.6, swell()));

  const signSheet = new Sheet((context, v, pixels) => {
    const grown = signSize();
    const visible = signs.filter((one) => {
      one.x = one.at[0] * v.scale - v.x;
      one.y = one.at[1] * v.scale - v.y;
      return shown[one.layer] && one.x > pixels.min.x && one.x < pixels.max.x && one.y > pixels.min.y && one.y < pixels.max.y;
    });
    const taken = visible.map((one) => [one.x - 10 * grown, one.y - 10 * grown, one.x + 10 * grown, one.y + 10 * grown]);
    [...visible].reverse().forEach((one) => paintSign(context, one, grown));
    visible.forEach((one) => paintLabel(context, one, grown, taken));
  }, (pixel) => {
    const reach = 11 * signSize();
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

  function paintLabel(context, one, grown, taken) {
    context.textAlign = "left";
    /* From afar the name alone: figures would hide the parcels that they stand on. */
    const label = swell() < 1.2 ? one.label.slice(0, 1) : one.label;
    const fonts = ["600 11.5px system-ui, sans-serif", "500 11px system-ui, sans-serif"];
    const wides = label.map((text, number) => {
      context.font = fonts[number];
      return context.measureText(text).width;
    });
    const wide = Math.max(...wides);
    const high = 13 * label.length, gap = 11 * grown + 3;
    const corner = [
      [one.x + gap, one.y - high / 2], [one.x - gap - wide, one.y - high / 2],
      [one.x - wide / 2, one.y + gap], [one.x - wide / 2, one.y - gap - high],
    ].find(([x, y]) => !taken.some((box) => x < box[2] + 2 && x + wide > box[0] - 2 && y < box[3] + 1 && y + high > box[1] - 1));
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

  const cornerOf = (box, x, y) => map.unproject(L.point(box[x], box[y]), 0);
  const whole = [...areas, ...ways, edge, ...signs.map(({ at }) => ({ box: [...at, ...at] }))]
    .filter(({ box }) => box[0] <= box[2])
    .reduce((bounds, { box }) => bounds.extend(cornerOf(box, 0, 1)).extend(cornerOf(box, 2, 3)), L.latLngBounds([]));
  map.setMaxZoom(19);
  map.options.zoomSnap = 0.25;
  if (whole.isValid()) { map.fitBounds(whole, { padding: [18, 18], animate: false }); }
  wholeZoom = map.getZoom();

  map.options.renderer = L.canvas({ padding: 0.3 });
  const sheets = [parcelSheet, roadSheet, markSheet, frameSheet, signSheet];
  sheets.forEach((sheet) => sheet.addTo(map));
  const repaint = () => sheets.forEach((sheet) => sheet.redraw());

  function ask(packed, at) {
    map.openPopup(popup(packed), at, { maxWidth: Math.min(360, map.getSize().x - 60), maxHeight: map.getSize().y - 60 });
  }

  function choose(row, at) {
    chosen = row;
    frameSheet.redraw();
    ask(parcels.popup[row], at);
  }

  parcelSheet.on("click", (event) => choose(parcelSheet.hit, event.latlng));
  roadSheet.on("click", (event) => ask(roads.popup[roadSheet.hit], event.latlng));
  signSheet.on("click", () => {
    const one = signs[signSheet.hit];
    ask(one.table.popup[one.row], latLng(one.table.at[one.row]));
  });
  map.on("popupclose", () => {
    chosen = -1;
    frameSheet.redraw();
  });

  /* ---- search ---- */

  const input = document.getElementById("wanted");
  const found = document.getElementById("found");
  const rowOf = new Map(parcels.id.map((id, row) => [id.toLowerCase(), row]));
  const exact = new Map(parcels.id.map((id, row) => [id, row]));
  if (parcels.id.length <= page.listedIds) {
    const list = document.createElement("datalist");
    list.id = "ids";
    for (const id of parcels.id) { list.append(new Option(id, id)); }
    document.body.append(list);
    input.setAttribute("list", "ids");
  }
  document.getElementById("search").addEventListener("submit", (event) => {
    event.preventDefault();
    const wanted = input.value.trim();
    const row = exact.get(wanted) ?? rowOf.get(wanted.toLowerCase());
    found.textContent = !wanted ? "Type a parcel's number first."
      : row === undefined ? "There is no parcel \u201c" + wanted + "\u201d on this map. Check the number as the county writes it." : "";
    if (!wanted || row === undefined) { return; }
    const at = parcels.at[row].length ? latLng(parcels.at[row]) : cornerOf(areas[row].box, 0, 1);
    map.setView(at, Math.max(map.getZoom(), page.closeZoom), { animate: false });
    choose(row, at);
  });

  /* ---- panel and print ---- */

  const panel = document.getElementById("panel");
  const button = document.getElementById("panel-button");
  function openPanel(open) {
    panel.classList.toggle("shut", !open);
    button.setAttribute("aria-expanded", String(open));
  }
  button.addEventListener("click", () => openPanel(panel.classList.contains("shut")));
  openPanel(window.innerWidth > 900);

  function legends() {
    for (const block of panel.querySelectorAll("[data-for]")) {
      const [layer, value] = block.dataset.for.split(":");
      const on = value ? shown[layer] === value : Boolean(shown[layer]);
      block.hidden = !on && Boolean(value);
      block.classList.toggle("off", !on);
    }
  }
  panel.addEventListener("change", (event) => {
    const { name, type, checked, value } = event.target;
    shown[name] = type === "checkbox" ? checked : value;
    legends();
    repaint();
  });
  for (const control of panel.querySelectorAll("input:checked, input[type=checkbox]")) {
    shown[control.name] = control.type === "checkbox" ? control.checked : control.value;
  }
  legends();

  map.attributionControl.setPrefix(false);
  if (page.credit) { map.attributionControl.addAttribution(page.credit); }
  L.control.scale({ imperial: page.imperial, metric: !page.imperial, maxWidth: 160 }).addTo(map);
  const north = L.control({ position: "topright" });
  north.onAdd = () => {
    const sign = L.DomUtil.create("div", "north");
    sign.innerHTML = '<svg width="16" height="22" viewBox="0 0 16 22" role="img" aria-label="North is up">'
      + '<path d="M8 0L15 21L8 16L1 21Z" fill="#2a2228" stroke="#fff"/></svg>N';
    return sign;
  };
  north.addTo(map);
  let seen = null;
  window.addEventListener("beforeprint", () => {
    seen = map.getBounds();
    map.getContainer().style.cssText += "width: 700px !important; height: 560px !important";
    map.invalidateSize({ animate: false });
    map.fitBounds(seen, { animate: false });
    map.getRenderer(parcelSheet)._redraw();
  });
  window.addEventListener("afterprint", () => {
    map.getContainer().style.removeProperty("width");
    map.getContainer().style.removeProperty("height");
    map.invalidateSize({ animate: false });
    map.fitBounds(seen, { animate: false });
  });
}
