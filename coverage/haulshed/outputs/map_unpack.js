/* Large tables lie in the page packed, a column a script, as gzip in base64: they are unpacked before
   the map is drawn, one after the other, so that the page answers meanwhile. A column is JSON, its
   length before it, and behind it the numbers of its arrays: {"ints": [bytes, place, count]}. */
"use strict";

/* A table as its script has it, or put together of its columns. */
function haulshedRead(name) {
  const whole = document.getElementById("haulshed-" + name);
  if (whole) { return JSON.parse(whole.textContent); }
  const columns = [...document.querySelectorAll(`script[id^="haulshed-${name}."]`)];
  return Object.fromEntries(columns.map((one) => [one.id.split(".").pop(), one.haulshed]));
}

function haulshedColumn(buffer) {
  const length = new DataView(buffer).getUint32(0, true), numbers = 4 + length;
  const kinds = { 1: Int8Array, 2: Int16Array, 4: Int32Array };
  function whole(value) {
    if (value === null || typeof value !== "object") { return value; }
    if (value.ints) {
      const [bytes, place, count] = value.ints;
      return new kinds[bytes](buffer, numbers + place, count);
    }
    if (Array.isArray(value)) { return typeof value[0] === "object" ? value.map(whole) : value; }
    for (const name of Object.keys(value)) { value[name] = whole(value[name]); }
    return value;
  }
  return whole(JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length))));
}

async function haulshedUnpack(element) {
  const text = atob(element.textContent);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i += 1) { bytes[i] = text.charCodeAt(i); }
  const open = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  element.haulshed = haulshedColumn(await new Response(open).arrayBuffer());
  element.textContent = "";
}

const haulshedPause = () => new Promise((go) => { setTimeout(go); });

/* Calls the `steps` in order once every table can be read: at once where none is packed, else with
   a pause before each. */
function haulshedWhenRead(...steps) {
  const found = document.getElementById("found");
  const packed = [...document.querySelectorAll("script[type=\"application/gzip\"]")];
  async function slowly() {
    for (const element of packed) {
      await haulshedUnpack(element);
      await haulshedPause();
    }
    found.textContent = "";
    for (const step of steps) {
      await haulshedPause();
      step();
    }
  }
  if (packed.length === 0) {
    steps.forEach((step) => step());
  } else if (typeof DecompressionStream === "undefined") {
    found.textContent = "This browser is too old for a map of this size. Take a newer one, or open district.gpkg.";
  } else {
    found.textContent = "Reading the map\u2026";
    slowly();
  }
}
