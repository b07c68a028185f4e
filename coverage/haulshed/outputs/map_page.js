/* The page around the map: its search, its panel, its print. */
"use strict";

function haulshedMap(map) {
  const tables = {};
  haulshedWhenRead(
    () => {
      tables.parcels = haulshedRead("parcels");
      tables.areas = haulshedPlane.outlines(tables.parcels.shape);
    },
    () => {
      tables.roads = haulshedRead("roads");
      tables.ways = haulshedPlane.outlines(tables.roads.shape);
    },
    () => {
      tables.page = haulshedRead("page");
      tables.sites = haulshedRead("fill_sites");
      tables.stations = haulshedRead("stations");
    },
    () => haulshedPage(map, tables),
  );
}

function haulshedPage(map, tables) {
  const { page, parcels } = tables;
  const panel = document.getElementById("panel");
  const controls = [...panel.querySelectorAll("input")];

  /* What the panel says is shown: a switch by its name, the parcels by the value chosen. */
  const shown = {};
  function take(control) {
    if (control.type === "checkbox") { shown[control.name] = control.checked; }
    if (control.type === "radio" && control.checked) { shown[control.name] = control.value; }
  }
  controls.forEach(take);
  const drawing = haulshedDrawing(map, tables, shown);

  /* ---- furniture of the map ---- */

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

  /* ---- search ---- */

  const input = document.getElementById("wanted");
  const found = document.getElementById("found");
  const rowOf = (id) => {
    const row = parcels.id.indexOf(id);
    return row >= 0 ? row : parcels.id.findLastIndex((one) => one.toLowerCase() === id.toLowerCase());
  };
  if (parcels.id.length <= page.listedIds) {
    const list = document.createElement("datalist");
    list.id = "ids";
    for (const id of parcels.id) { list.append(new Option(id, id)); }
    document.body.append(list);
    input.setAttribute("list", "ids");
  }

  function say(text) {
    found.textContent = text;
    map.closePopup();
    map.invalidateSize({ animate: false });
  }

  document.getElementById("search").addEventListener("submit", (event) => {
    event.preventDefault();
    const wanted = input.value.trim();
    const row = rowOf(wanted);
    if (!wanted) {
      say("Type a parcel\u2019s number first.");
    } else if (row < 0) {
      say("There is no parcel \u201c" + wanted + "\u201d on this map. Check the number as the county writes it.");
    } else {
      say("");
      drawing.show(row);
    }
  });

  /* ---- panel: a drawer on a small screen ---- */

  const button = document.getElementById("panel-button");
  function openPanel(open) {
    panel.classList.toggle("shut", !open);
    button.setAttribute("aria-expanded", String(open));
  }
  button.addEventListener("click", () => openPanel(panel.classList.contains("shut")));
  panel.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && button.offsetParent) {
      openPanel(false);
      button.focus();
    }
  });
  openPanel(!button.offsetParent);

  function legends() {
    for (const block of panel.querySelectorAll("[data-for]")) {
      const [layer, value] = block.dataset.for.split(":");
      const on = value ? shown[layer] === value : Boolean(shown[layer]);
      block.hidden = !on && Boolean(value);
      block.classList.toggle("off", !on);
    }
  }
  panel.addEventListener("change", (event) => {
    take(event.target);
    legends();
    drawing.repaint();
  });
  legends();

  /* ---- a frame around the map for those who come by key, not by mouse ---- */

  document.addEventListener("keydown", (event) => {
    if (event.key === "Tab") { document.body.classList.add("keys"); }
  });
  document.addEventListener("pointerdown", () => document.body.classList.remove("keys"));

  /* ---- print: the same view, at the size that a sheet of paper takes ---- */

  let before = null;
  window.addEventListener("beforeprint", () => {
    const seen = map.getBounds();
    before = { center: map.getCenter(), zoom: map.getZoom() };
    document.body.classList.add("print");
    map.invalidateSize({ animate: false });
    map.fitBounds(seen, { animate: false });
    drawing.finish();
  });
  window.addEventListener("afterprint", () => {
    document.body.classList.remove("print");
    map.invalidateSize({ animate: false });
    map.setView(before.center, before.zoom, { animate: false });
  });
}
