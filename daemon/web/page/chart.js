// Draws a zone's recorded current finer than the drawing that came with the page, from the history's own route: each
// step's lowest to highest and mean, the normal band, a dot for each run, findings and repairs as lines.
(() => {
  "use strict";
  const kHeight = 240;  // as #chart in style.css, so that nothing moves
  const kGapSteps = 3.5;  // without a reading, and the line is broken
  let plot = null, observer = null;

  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  // The history's CSV by the names in its first line.
  function columns(csv, every) {
    const lines = csv.trim().split("\r\n"), names = lines[0].split(",");
    const at = (name) => names.indexOf(name);
    const out = [[], [], [], []], from = ["unix (s)", "lowest", "highest", "mean"].map(at);
    if (from.includes(-1)) return null;
    let last = null;
    for (const line of lines.slice(1)) {
      const cells = line.split(","), time = Number(cells[from[0]]) + every / 2;
      if (last !== null && time - last > kGapSteps * every) { out[0].push(last + every); for (const i of [1, 2, 3]) out[i].push(null); }
      out[0].push(time);
      for (const i of [1, 2, 3]) out[i].push(Number(cells[from[i]]));
      last = time;
    }
    return out;
  }

  function drawBand(u, data) {
    if (data.low === null || data.high === null) return;
    const top = u.valToPos(data.high, "y", true), bottom = u.valToPos(data.low, "y", true);
    u.ctx.save();
    u.ctx.fillStyle = colour("--band");
    u.ctx.fillRect(u.bbox.left, top, u.bbox.width, Math.max(2, bottom - top));
    u.ctx.restore();
  }

  function drawMarks(u, data) {
    const shapes = {found: ["--bad", [2, 4]], over: ["--ok", [8, 4]], repaired: ["--ok", []]};
    for (const [time, kind] of data.marks) {
      const x = u.valToPos(time, "x", true), [name, dash] = shapes[kind];
      u.ctx.save();
      u.ctx.strokeStyle = colour(name);
      u.ctx.lineWidth = 2 * devicePixelRatio;
      u.ctx.setLineDash(dash.map((n) => n * devicePixelRatio));
      u.ctx.beginPath();
      u.ctx.moveTo(x, u.bbox.top);
      u.ctx.lineTo(x, u.bbox.top + u.bbox.height);
      u.ctx.stroke();
      u.ctx.restore();
    }
  }

  function read(u, data, out) {
    const i = u.cursor.idx;
    if (i === null || i === undefined) return void (out.textContent = "");
    const when = new Intl.DateTimeFormat("en-GB", {timeZone: data.timezone, dateStyle: "medium", timeStyle: data.every < 60 ? "medium" : "short"});
    const [low, high, mean, run] = [1, 2, 3, 4].map((s) => u.data[s]?.[i]);
    const words = [when.format(u.data[0][i] * 1000)];
    if (mean != null) words.push(`${low.toFixed(3)} to ${high.toFixed(3)} A, mean ${mean.toFixed(3)} A`);
    if (run != null) words.push(`a run at ${run.toFixed(3)} A`);
    out.textContent = words.join(": ");
  }

  // Hours for a day and less, days for more; the clock is the site's.
  function tickWords(data) {
    const fields = data.every >= 900 ? {day: "numeric", month: "short"} : {hour: "2-digit", minute: "2-digit", ...(data.every < 1 ? {second: "2-digit"} : {})};
    const words = new Intl.DateTimeFormat("en-GB", {timeZone: data.timezone, hourCycle: "h23", ...fields});
    return (seconds) => words.format(seconds * 1000);
  }

  function options(place, data, readout) {
    const long = data.every >= 900, ticks = tickWords(data), axis = {stroke: colour("--soft"), grid: {stroke: colour("--line"), width: 1}, ticks: {stroke: colour("--line"), width: 1}};
    const wire = colour("--wire");
    return {
      width: place.clientWidth, height: kHeight, legend: {show: false},
      tzDate: (seconds) => uPlot.tzDate(new Date(seconds * 1000), data.timezone),
      scales: {x: {time: true, range: [data.from, data.until]}, y: {range: [-0.03 * data.top, data.top]}},
      axes: [{...axis, space: 80, values: (u, times) => times.map(ticks)}, {...axis, size: 60, values: (u, values) => values.map((v) => v.toFixed(2) + " A")}],
      series: [{}, {stroke: wire, width: 0.5, points: {show: false}}, {stroke: wire, width: 0.5, points: {show: false}},
               {stroke: wire, width: long ? 0 : 2, points: {show: false}},
               {stroke: colour("--ink"), width: 0, paths: () => null, points: {show: true, size: 6, fill: colour("--ink")}}],
      bands: [{series: [2, 1], fill: wire + "55"}],
      hooks: {drawClear: [(u) => drawBand(u, data)], draw: [(u) => drawMarks(u, data)], setCursor: [(u) => read(u, data, readout)]},
    };
  }

  function show(place, data, table) {
    const label = place.querySelector("svg")?.getAttribute("aria-label") ?? place.getAttribute("aria-label");
    plot?.destroy();
    place.replaceChildren();
    place.classList.add("drawn");
    place.setAttribute("role", "img");
    place.setAttribute("aria-label", label);
    plot = new uPlot(options(place, data, document.getElementById("readout")), table, place);
    observer?.disconnect();
    observer = new ResizeObserver(() => plot.setSize({width: place.clientWidth, height: kHeight}));
    observer.observe(place);
  }

  async function start() {
    const place = document.getElementById("chart");
    if (!place || !window.uPlot) return;
    const data = JSON.parse(place.dataset.chart);
    const answer = await fetch(data.history).catch(() => null);
    if (!answer || !answer.ok || !place.isConnected) return;  // what came with the page stays
    const course = columns(await answer.text(), data.every);
    if (!course) return;
    const runs = [data.runs.map((r) => r[0]), data.runs.map((r) => r[1])];
    const order = runs[0].map((_, i) => i).sort((a, b) => runs[0][a] - runs[0][b]);
    const table = uPlot.join([course, runs.map((column) => order.map((i) => column[i]))]);
    const draw = () => show(place, data, table);
    draw();
    matchMedia("(prefers-color-scheme: dark)").onchange = draw;
  }

  document.addEventListener("coilward-page", start);
  start();
})();
