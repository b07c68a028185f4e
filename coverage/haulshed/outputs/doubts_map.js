/* The map of doubtful places: roads and outline for bearings, a sign a place, a switch a doubt. */
"use strict";

function haulshedDoubts(map) {
  haulshedWhenRead(() => haulshedDoubtsPage(map));
}

function haulshedDoubtsPage(map) {
  const NAMED = 8; // places that one popup names
  const [WIDE_PX, HIGH_PX] = [52, 22]; // room that a sign takes
  const data = haulshedRead("doubts");
  const panel = document.getElementById("panel");
  const canvas = L.canvas({ padding: 0.3 });
  const calm = { renderer: canvas, interactive: false, fill: false };

  /* A line is its first position, then the difference of each further one to the one before. */
  function positions(line) {
    const found = [];
    let east = 0;
    let north = 0;
    for (let i = 0; i < line.length; i += 2) {
      east += line[i];
      north += line[i + 1];
      found.push([north / 1e6, east / 1e6]);
    }
    return found;
  }

  const roads = L.polyline(data.roads.flat().map(positions), { ...calm, color: "#a39a92", weight: 1.2 });
  const outline = L.polyline(data.outline.flat().map(positions), { ...calm, color: data.ink, weight: 1.5, dashArray: "6 5" });
  roads.addTo(map);
  outline.addTo(map);

  function text(kind, words) {
    const element = document.createElement(kind);
    element.textContent = words;
    return element;
  }
  const said = [...panel.querySelectorAll("fieldset p")].map((one) => one.textContent);
  function popup(group) {
    const box = document.createElement("div");
    for (const place of group.places.slice(0, NAMED)) {
      box.append(text("h2", place.name));
      const list = document.createElement("ul");
      for (const number of place.findings) { list.append(text("li", data.letters[number] + ": " + said[number])); }
      box.append(list);
    }
    if (group.places.length > NAMED) { box.append(text("p", "and " + (group.places.length - NAMED) + " more; zoom in")); }
    return box;
  }
  function sign(group) {
    const letters = [...group.on].sort((a, b) => a - b).map((number) => data.letters[number]).join("");
    const many = group.places.length > 1 ? " " + group.places.length : "";
    const label = document.createElement("b");
    label.textContent = letters + many;
    const icon = L.divIcon({ className: "doubt", iconSize: null, html: label });
    const title = many ? group.places.length + " places" : group.places[0].name;
    return L.marker(group.at, { icon, title, alt: title + ", " + letters });
  }

  /* Signs that would cover each other are one, with the number of places. */
  function grouped(shown) {
    const groups = [];
    const cells = new Map();
    for (const place of data.places) {
      const on = place.findings.filter((number) => shown.has(number));
      if (on.length === 0 || place.at.length === 0) { continue; }
      const at = L.latLng(place.at[1] / 1e6, place.at[0] / 1e6);
      const { x, y } = map.project(at);
      const [column, row] = [Math.floor(x / WIDE_PX), Math.floor(y / HIGH_PX)];
      let group;
      for (let i = -1; i <= 1 && !group; i += 1) {
        for (let j = -1; j <= 1 && !group; j += 1) {
          const near = cells.get((column + i) + "," + (row + j)) ?? [];
          group = near.find((one) => Math.abs(one.x - x) < WIDE_PX && Math.abs(one.y - y) < HIGH_PX);
        }
      }
      if (!group) {
        group = { at, x, y, on: new Set(), places: [] };
        groups.push(group);
        const key = column + "," + row;
        cells.set(key, [...(cells.get(key) ?? []), group]);
      }
      group.places.push(place);
      on.forEach((number) => group.on.add(number));
    }
    return groups;
  }

  const places = L.layerGroup().addTo(map);
  function draw() {
    const shown = new Set([...panel.querySelectorAll("input:checked")].map((one) => Number(one.name)));
    places.clearLayers();
    for (const group of grouped(shown)) {
      sign(group).bindPopup(() => popup(group), { maxWidth: 320, maxHeight: 360 }).addTo(places);
    }
  }
  panel.addEventListener("change", draw);

  const button = document.getElementById("panel-button");
  button.addEventListener("click", () => panel.classList.toggle("shut"));
  panel.classList.toggle("shut", Boolean(button.offsetParent));

  map.attributionControl.setPrefix(false);
  if (data.credit) { map.attributionControl.addAttribution(data.credit); }
  L.control.scale({ maxWidth: 160 }).addTo(map);
  map.options.zoomSnap = 0.25;
  map.fitBounds(L.featureGroup([roads, outline]).getBounds(), { animate: false });
  map.on("zoomend", draw);
  draw();
}
