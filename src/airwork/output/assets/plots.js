/* Linked plots of one stretch of a flight: tolerance bands, the ideal laid over, one cursor for all. Needs uPlot. */
"use strict";
const airworkPlots = (() => {
  const PAPER_WIDTH = 325;  // half of an A4 page less its margins, in CSS pixels
  const drawn = [];  // every plot with the stretch it shows
  let following = false;  // a cursor set from outside is not reported back
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

  /* The plot's limits: the data, the ideal and the bands all inside, with a little room. */
  const limits = (values, bands, room) => {
    let low = Infinity, high = -Infinity;
    for (const list of values) for (const v of list) if (v !== null) { if (v < low) low = v; if (v > high) high = v; }
    for (const b of bands) { if (b.low !== null && b.low < low) low = b.low; if (b.high !== null && b.high > high) high = b.high; }
    if (!isFinite(low)) return [0, 1];
    const pad = Math.max((high - low) * .06, room / 2);
    return [low - pad, high + pad];
  };

  const draw = (holder, spec, onMove) => {
    const data = [spec.t, spec.flown];
    const say = (v) => spec.compass ? compass(v) : String(v);
    const shown = (u, v) => v === null || v === undefined ? "" : say(v);  // nothing pointed at: an empty place, no dashes
    const series = [
      { label: "time", value: (u, v) => v === null || v === undefined ? "" : clock(v) },
      { label: `flown (${spec.unit})`, value: shown, stroke: css("--ink"), width: 1.6, spanGaps: false, points: { show: false } },
    ];
    if (spec.ideal) {
      data.push(spec.ideal);
      series.push({ label: "ideal", value: (u, v) => shown(u, v === null || v === undefined ? v : Number(v.toFixed(1))), stroke: css("--accent"), width: 1.4, dash: [8, 5], points: { show: false } });
    }
    const bands = spec.bands || [];
    const [low, high] = limits(data.slice(1), bands, spec.room || 1);
    const width = () => Math.max(220, holder.clientWidth - 4);
    const plot = new uPlot({
      width: width(), height: 165,
      cursor: { sync: { key: spec.group }, drag: { x: true, y: false } },
      legend: { live: true },
      scales: { x: { time: false }, y: { range: [low, high] } },
      axes: [
        { stroke: css("--soft"), grid: { stroke: css("--line"), width: .5 }, values: (u, ticks) => ticks.map(clock), size: 26 },
        { stroke: css("--soft"), grid: { stroke: css("--line"), width: .5 }, size: 52, ...(spec.compass ? { values: (u, ticks) => ticks.map(compass) } : {}) },
      ],
      series,
      hooks: { drawClear: [bandHook(bands)], setCursor: [(u) => onMove && !following && u.cursor.idx !== null && u.cursor.idx !== undefined && onMove(spec.t[u.cursor.idx])] },
    }, data, holder);
    drawn.push({ plot, from: spec.t[0], to: spec.t[spec.t.length - 1] });
    const fit = () => plot.setSize({ width: width(), height: 165 });
    new ResizeObserver(fit).observe(holder);
    window.addEventListener("beforeprint", () => plot.setSize({ width: PAPER_WIDTH, height: 130 }));
    window.addEventListener("afterprint", fit);
    return plot;
  };

  const clock = (s) => {
    const whole = Math.round(s), sign = whole < 0 ? "−" : "", a = Math.abs(whole);
    return `${sign}${Math.floor(a / 60)}:${String(a % 60).padStart(2, "0")}`;
  };

  /* A heading drawn without jumps, said as the compass says it. */
  const compass = (v) => String((((Math.round(v) % 360) + 359) % 360) + 1).padStart(3, "0");

  /* The cursor of every plot that shows this moment. */
  const go = (moment) => {
    following = true;
    for (const d of drawn) {
      const inside = d.from <= moment && moment <= d.to;
      d.plot.setCursor(inside ? { left: d.plot.valToPos(moment, "x"), top: 10 } : { left: -10, top: -10 }, true, false);
    }
    following = false;
  };

  return { draw, clock, go };
})();
