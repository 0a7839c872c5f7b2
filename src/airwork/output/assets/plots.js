/* Linked plots of one stretch of a flight: tolerance bands, the ideal laid over, one cursor for all. Needs uPlot. */
"use strict";
const airworkPlots = (() => {
  const PAPER_WIDTH = 325;  // half of an A4 page less its margins, in CSS pixels
  let drawn = [];  // every plot with the stretch it shows
  let printing = false;
  window.addEventListener("beforeprint", () => { printing = true; });
  window.addEventListener("afterprint", () => { printing = false; });
  let shown = -1;  // the moment every cursor stands at
  const point = (plot) => {
    const t = plot.data[0], inside = t[0] <= shown && shown <= t[t.length - 1];
    plot.setCursor(inside ? { left: plot.valToPos(shown, "x"), top: 10 } : { left: -10, top: -10 }, true, false);
  };
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  const bandHook = (bands) => (u) => {
    for (const band of bands) {
      const x0 = Math.max(u.valToPos(band.from, "x", true), u.bbox.left);
      const x1 = Math.min(u.valToPos(band.to, "x", true), u.bbox.left + u.bbox.width);
      const top = band.high === null ? u.bbox.top : Math.max(u.valToPos(band.high, "y", true), u.bbox.top);
      const base = u.bbox.top + u.bbox.height;
      const bottom = band.low === null ? base : Math.min(u.valToPos(band.low, "y", true), base);
      if (x1 <= x0 || bottom <= top) continue;
      u.ctx.save();
      u.ctx.fillStyle = css("--band");
      u.ctx.fillRect(x0, top, x1 - x0, bottom - top);
      u.ctx.strokeStyle = css("--accent");
      u.ctx.setLineDash([6, 4]);
      u.ctx.beginPath();
      if (band.high !== null) { u.ctx.moveTo(x0, top); u.ctx.lineTo(x1, top); }
      if (band.low !== null) { u.ctx.moveTo(x0, bottom); u.ctx.lineTo(x1, bottom); }
      u.ctx.stroke();
      u.ctx.restore();
    }
  };

  /* Where the maneuver itself begins and ends, and what was flown outside the band: drawn heavier, so that it is seen without color. */
  const overHook = (spec) => (u) => {
    const { ctx } = u;
    ctx.save();
    ctx.beginPath(); ctx.rect(u.bbox.left, u.bbox.top, u.bbox.width, u.bbox.height); ctx.clip();
    ctx.strokeStyle = css("--soft"); ctx.lineWidth = 1; ctx.setLineDash([2, 4]);
    for (const t of spec.limits || []) { const x = u.valToPos(t, "x", true); ctx.beginPath(); ctx.moveTo(x, u.bbox.top); ctx.lineTo(x, u.bbox.top + u.bbox.height); ctx.stroke(); }
    ctx.setLineDash([]); ctx.strokeStyle = css("--out"); ctx.lineWidth = 4 * devicePixelRatio;
    const bands = spec.bands || [];
    for (let i = 0; i + 1 < spec.t.length && bands.length; i++) {
      const v = spec.flown[i], w = spec.flown[i + 1], here = bands.filter((b) => b.from <= spec.t[i] && spec.t[i + 1] <= b.to);
      if (v === null || w === null || !here.length || here.some((b) => (b.low === null || v >= b.low - b.slack) && (b.high === null || v <= b.high + b.slack))) continue;
      ctx.beginPath(); ctx.moveTo(u.valToPos(spec.t[i], "x", true), u.valToPos(v, "y", true)); ctx.lineTo(u.valToPos(spec.t[i + 1], "x", true), u.valToPos(w, "y", true)); ctx.stroke();
    }
    ctx.restore();
  };

  /* The plot's limits: the data, the ideal and the bands all inside, with a little room. */
  const limits = (values, bands, room) => {
    let low = Infinity, high = -Infinity;
    for (const list of values) for (const v of list) if (v !== null && v !== undefined) { if (v < low) low = v; if (v > high) high = v; }
    for (const b of bands) { if (b.low !== null && b.low < low) low = b.low; if (b.high !== null && b.high > high) high = b.high; }
    if (!isFinite(low)) return [0, 1];
    const pad = Math.max((high - low) * .06, room / 2);
    return [low - pad, high + pad];
  };

  /* A heading that goes round more than once and a half: on one round of the compass, broken where it passes north; else
     every tick of its scale would be 360. */
  const onOneRound = (spec) => {
    const [low, high] = limits([spec.flown], [], 0);
    if (high - low < 540) return spec;
    const round = (v) => Math.floor(v / 360);
    const fold = (list) => list && list.map((v, i) => v === null || (i && list[i - 1] !== null && round(v) !== round(list[i - 1])) ? null : v - 360 * round(v));
    return { ...spec, flown: fold(spec.flown), ideal: fold(spec.ideal), earlier: fold(spec.earlier) };
  };

  /* spec: t, flown, unit, group; maybe ideal, earlier (lists as flown), bands, limits (times), room, compass, height(),
     bare: without a legend, its axis of time only where `last`. */
  const draw = (holder, asked, onMove) => {
    const spec = asked.compass && !(asked.bands || []).length ? onOneRound(asked) : asked;
    const data = [spec.t, spec.flown];
    const say = (v) => spec.compass ? compass(v) : String(v);
    const worded = (u, v) => v === null || v === undefined ? "" : say(v);  // nothing pointed at: an empty place, no dashes
    const dashed = (v) => worded(null, v === null || v === undefined ? v : Number(v.toFixed(1)));
    const series = [
      { label: "time", value: (u, v) => v === null || v === undefined ? "" : clock(v) },
      { label: `flown (${spec.unit})`, value: worded, stroke: css("--ink"), width: 1.6, spanGaps: false, points: { show: false } },
    ];
    const more = (list, label, look) => { if (list) { data.push(list); series.push({ label, value: (u, v) => dashed(v), points: { show: false }, ...look }); } };
    more(spec.ideal, "ideal", { stroke: css("--accent"), width: 1.6, dash: [8, 5] });
    more(spec.earlier, "earlier", { stroke: css("--soft"), width: 1.4, dash: [2, 3] });
    const bands = spec.bands || [];
    const [low, high] = limits(data.slice(1), bands, spec.room || 1);
    const width = () => printing ? PAPER_WIDTH : Math.max(200, holder.clientWidth - (spec.bare ? 0 : 4));
    const height = () => printing ? 130 : spec.height ? spec.height() : 165;
    const axis = { stroke: css("--soft"), font: "12px system-ui, sans-serif", ticks: { stroke: css("--line"), width: .5 }, grid: { stroke: css("--line"), width: .5 } };
    const plot = new uPlot({
      width: width(), height: height(), padding: spec.bare ? [6, 4, spec.last ? 0 : 4, 0] : undefined,
      cursor: { y: false, drag: { x: !spec.bare, y: false }, points: { size: 8 } },
      legend: { show: !spec.bare, live: true },
      scales: { x: { time: false }, y: { range: [low, high] } },
      axes: [
        { ...axis, values: (u, ticks) => ticks.map(clock), size: spec.bare && !spec.last ? 0 : 26, ...(spec.bare && !spec.last ? { values: () => [] } : {}) },
        { ...axis, size: 52, space: spec.bare ? 15 : 22, ...(spec.compass ? { incrs: [5, 10, 15, 30, 45, 90, 180, 360], values: (u, ticks) => ticks.map(compass) } : { values: (u, ticks) => ticks.map((v) => v.toLocaleString("en-US").replace("-", "−")) }) },
      ],
      series,
      hooks: { drawClear: [bandHook(bands)], draw: [overHook(spec)], ready: [point], setSize: [point] },  // before that it has no scale to point by
    }, data, holder);
    plot.over.addEventListener("mousemove", () => { if (plot.cursor.left >= 0) onMove(plot.posToVal(plot.cursor.left, "x")); });
    const fit = () => plot.setSize({ width: width(), height: height() });
    const watch = new ResizeObserver(fit);
    watch.observe(holder);
    window.addEventListener("beforeprint", fit);
    window.addEventListener("afterprint", fit);
    drawn.push({ plot, fit, group: spec.group,
      end: () => { watch.disconnect(); window.removeEventListener("beforeprint", fit); window.removeEventListener("afterprint", fit); plot.destroy(); } });
    return plot;
  };

  /* The plots of a group taken away. */
  const clear = (group) => { for (const d of drawn) if (d.group === group) d.end(); drawn = drawn.filter((d) => d.group !== group); };

  /* Their place has become larger or smaller. */
  const fit = (group) => { for (const d of drawn) if (d.group === group) d.fit(); };

  const clock = (s) => {
    const whole = Math.round(s), sign = whole < 0 ? "−" : "", a = Math.abs(whole);
    return `${sign}${Math.floor(a / 60)}:${String(a % 60).padStart(2, "0")}`;
  };

  /* A heading drawn without jumps, said as the compass says it. */
  const compass = (v) => String((((Math.round(v) % 360) + 359) % 360) + 1).padStart(3, "0");

  /* The cursor of every plot that shows this moment. */
  const go = (moment) => {
    shown = moment;
    for (const d of drawn) point(d.plot);
  };

  /* The samples of a stretch, the ideal and an earlier attempt at their times: what `draw` is given. */
  const index = (t, s) => { let i = 0, j = t.length - 1; while (i < j) { const m = (i + j) >> 1; if (t[m] < s) i = m + 1; else j = m; } return i; };
  const slice = (series, column, from, to) => {
    const a = index(series.t, from), b = index(series.t, to) + 1;
    return [series.t.slice(a, b), series[column].slice(a, b)];
  };
  const laid = (other, times, column, shift = 0) => {
    if (!other || !other[column]) return null;
    const { t } = other, values = other[column];
    return times.map((moment) => {
      const s = moment - shift;
      if (s < t[0] || s > t[t.length - 1]) return null;
      const k = Math.max(index(t, s) - 1, 0);
      if (values[k] === null || values[k + 1] === null || values[k + 1] === undefined) return null;  // between two pylons
      const span = t[k + 1] - t[k] || 1;
      return values[k] + (s - t[k]) / span * (values[k + 1] - values[k]);
    });
  };

  return { draw, clear, fit, clock, compass, go, index, slice, laid };
})();
