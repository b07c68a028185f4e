/* Large tables lie in the page packed, as gzip in base64: they are unpacked before the map is drawn. */
"use strict";

function haulshedRead(name) {
  const element = document.getElementById("haulshed-" + name);
  return element.haulshed ?? JSON.parse(element.textContent);
}

async function haulshedUnpack(element) {
  const text = atob(element.textContent);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i += 1) { bytes[i] = text.charCodeAt(i); }
  const open = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  element.haulshed = await new Response(open).json();
  element.textContent = "";
}

/* Calls `draw` once every table can be read: at once where none is packed. */
function haulshedWhenRead(draw) {
  const found = document.getElementById("found");
  const packed = [...document.querySelectorAll("script[type=\"application/gzip\"]")];
  if (packed.length === 0) {
    draw();
  } else if (typeof DecompressionStream === "undefined") {
    found.textContent = "This browser is too old for a map of this size. Take a newer one, or open district.gpkg.";
  } else {
    found.textContent = "Reading the map\u2026";
    Promise.all(packed.map(haulshedUnpack)).then(() => {
      found.textContent = "";
      draw();
    });
  }
}
