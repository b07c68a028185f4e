/* One parcel's incident, drawn when its popup opens; a line in its place where the map carries none. */
"use strict";

/* `of` is a row of the parcels' `clock`: what is asked for [per min] and from when, when it ends, the
   flow in each step, from when on by what the fire is supplied, gaps, source, its level [%]. */
function haulshedBuildUp(page, of) {
  if (of === undefined) { return `<p><small>${page.notPlayed}</small></p>`; }
  if (!of) { return ""; }
  const clock = page.clock;
  const [first, asked, end, flows, stages, gaps, source, level] = of;
  const left = 52, right = 316, top = 40, high = 84, below = 30;
  const x = (minute) => left + (right - left) * minute / end;
  const esc = (text) => String(text).replace(/[&<>"]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", "\"": "&quot;" })[c]);
  const text = (at, y, words, anchor = "start") =>
    `<text x="${at.toFixed(1)}" y="${y.toFixed(1)}" text-anchor="${anchor}">${esc(words)}</text>`;
  const line = (points, style) =>
    `<polyline points="${points.map(([a, b]) => a.toFixed(1) + "," + b.toFixed(1)).join(" ")}" fill="none" ${style}/>`;

  /* What is asked for, and what came. */
  const turns = [0, clock.attackMin, clock.attackMin + clock.durationMin].map((minute) => first + minute);
  const rates = [Math.min(clock.attack, asked), asked, Math.min(clock.overhaul, asked)];
  let sum = 0;
  const wanted = [[0, 0], [first, 0]];
  [...turns.slice(1), end].forEach((minute, at) => {
    sum += rates[at] * (minute - turns[at]);
    wanted.push([minute, sum]);
  });
  let came = 0;
  const got = [[0, 0]];
  flows.forEach((flow, at) => {
    const minute = Math.min((at + 1) * clock.step, end);
    came += flow * (minute - at * clock.step);
    got.push([minute, came]);
  });
  const most = Math.max(sum, came, 1);
  const y = (amount) => top + high - high * amount / most;
  const put = (points) => points.map(([minute, amount]) => [x(minute), y(amount)]);
  const thousands = (amount) => Math.round(amount).toLocaleString("en-US");

  /* The strip of stages and the strip of gaps. */
  const parts = [];
  stages.forEach(([from, code], at) => {
    const to = at + 1 < stages.length ? stages[at + 1][0] : end;
    const name = clock.stages[code];
    parts.push(`<rect x="${x(from).toFixed(1)}" y="4" width="${(x(to) - x(from)).toFixed(1)}" height="14" fill="${clock.fills[code]}" stroke="${page.ink}" stroke-width=".7"/>`);
    if (name.length * 5.6 + 4 < x(to) - x(from)) { parts.push(text((x(from) + x(to)) / 2, 14.5, name, "middle")); }
  });
  parts.push(`<defs><pattern id="haulshed-gap" width="6" height="6" patternUnits="userSpaceOnUse"><path d="M-1 1L1 -1M0 6L6 0M5 7L7 5" stroke="${page.ink}"/></pattern></defs>`);
  for (const [from, to] of gaps) {
    parts.push(`<rect x="${x(from).toFixed(1)}" y="20" width="${Math.max(x(to) - x(from), 1.5).toFixed(1)}" height="8" fill="url(#haulshed-gap)" stroke="${page.ink}" stroke-width=".4"/>`);
  }
  parts.push(text(left - 5, 14.5, "from", "end"), text(left - 5, 27.5, "gaps", "end"));
  if (!gaps.length) { parts.push(text(left, 27.5, "none")); }

  /* Water. */
  for (const share of [0, 0.5, 1]) {
    parts.push(`<path d="M${left} ${y(share * most).toFixed(1)}H${right}" stroke="#d9d3d6"/>`);
  }
  parts.push(text(left - 5, y(most) + 4, thousands(most), "end"), text(left - 5, y(0) + 4, "0 " + clock.unit, "end"));
  parts.push(line(put(wanted), `stroke="${page.ink}" stroke-dasharray="5 3"`));
  parts.push(line(put(got), `stroke="${page.ink}" stroke-width="2.2"`));
  let bottom = top + high;

  /* The source that falls lowest. */
  if (source >= 0) {
    const base = bottom + 22 + below;
    parts.push(`<path d="M${left} ${base}H${right}M${left} ${base - below}H${right}" stroke="#d9d3d6"/>`);
    parts.push(line(level.map((share, at) => [x(Math.min(at * clock.step, end)), base - below * share / 100]), `stroke="${page.ink}" stroke-width="1.6"`));
    parts.push(text(left - 5, base - below + 4, "100 %", "end"), text(left - 5, base + 4, "0", "end"));
    parts.push(text(left + 3, base - below - 4, "left in " + clock.sources[source]));
    bottom = base;
  }
  const mark = end > 240 ? 60 : 30;
  for (let minute = 0; minute <= end; minute += mark) {
    parts.push(`<path d="M${x(minute).toFixed(1)} ${bottom}v4" stroke="${page.ink}"/>`, text(x(minute), bottom + 14, minute, "middle"));
  }
  parts.push(text(right, bottom + 26, "min from dispatch; dashed: asked for", "end"));
  const words = `The incident minute by minute: ${thousands(came)} of ${thousands(sum)} ${clock.unit} asked for, ${gaps.length} gaps.`;
  return `<svg class="build-up" viewBox="0 0 322 ${bottom + 30}" width="322" height="${bottom + 30}" role="img" aria-label="${esc(words)}">${parts.join("")}</svg>`;
}
