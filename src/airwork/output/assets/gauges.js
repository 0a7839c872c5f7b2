/* The instruments at one moment, drawn as our own panel: a horizon with the bank over it, the ball, and scales that run
   under a fixed mark, each with the band it was to be held in. Painted, not built: it keeps up with a dragged cursor. */
"use strict";
const airworkGauges = (() => {
  const PER_DEG = 3.6, SIDE = 100;
  // name of the samples → word, units across the scale, step between figures, words for out of the band
  const SCALES = [["speed", "speed", 60, 20, "fast", "slow"], ["altitude", "altitude", 800, 200, "high", "low"], ["heading", "heading", 90, 30],
    ["vertical_speed", "climb", 3000, 1000], ["rpm", "engine", 1500, 500]];
  const TICKS = [-60, -45, -30, -20, -10, 0, 10, 20, 30, 45, 60];
  const rad = (deg) => deg * Math.PI / 180;
  const compass = (v) => String((((Math.round(v) % 360) + 359) % 360) + 1).padStart(3, "0");
  const whole = (v) => (Math.round(v) || 0).toLocaleString("en-US").replace("-", "−");
  const side = (deg) => deg > .5 ? "right" : deg < -.5 ? "left" : "";

  const make = (canvas, units, has) => {
    const ctx = canvas.getContext("2d"), color = {};
    let wide = 0, high = 0;
    const refresh = () => {
      const style = getComputedStyle(document.documentElement);
      for (const name of ["ink", "soft", "line", "paper", "wash", "accent", "out", "sky", "earth", "band"]) color[name] = style.getPropertyValue(`--${name}`).trim();
    };
    const fit = () => {
      const ratio = window.devicePixelRatio || 1;
      wide = canvas.clientWidth; high = canvas.clientHeight;
      canvas.width = Math.round(wide * ratio); canvas.height = Math.round(high * ratio);
      ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    };
    const text = (words, x, y, size, { align = "left", fill = color.ink, bold = false } = {}) => {
      ctx.font = `${bold ? "600 " : ""}${size}px system-ui, sans-serif`;
      ctx.textAlign = align; ctx.fillStyle = fill;
      ctx.fillText(words, x, y);
    };
    const line = (x0, y0, x1, y1, stroke, width = 1) => { ctx.strokeStyle = stroke; ctx.lineWidth = width; ctx.beginPath(); ctx.moveTo(x0, y0); ctx.lineTo(x1, y1); ctx.stroke(); };
    const mark = (x, y, up, fill, hollow) => {  // a triangle that points up or down at a place
      ctx.beginPath(); ctx.moveTo(x, y); ctx.lineTo(x - 6, y + (up ? 9 : -9)); ctx.lineTo(x + 6, y + (up ? 9 : -9)); ctx.closePath();
      if (hollow) { ctx.strokeStyle = fill; ctx.lineWidth = 1.6; ctx.stroke(); } else { ctx.fillStyle = fill; ctx.fill(); }
    };

    const horizon = (at, aims, tall) => {
      const bank = at("bank"), pitch = at("pitch"), cx = wide / 2, cy = tall / 2;
      ctx.save();
      ctx.beginPath(); ctx.roundRect(0, 0, wide, tall, 6); ctx.clip();
      ctx.save();
      ctx.translate(cx, cy); ctx.rotate(-rad(bank || 0)); ctx.translate(0, (pitch || 0) * PER_DEG);
      const known = bank !== null || pitch !== null;  // an attitude nobody recorded is no level flight
      ctx.fillStyle = known ? color.sky : color.wash; ctx.fillRect(-700, -900, 1400, 900);
      ctx.fillStyle = known ? color.earth : color.wash; ctx.fillRect(-700, 0, 1400, 900);
      line(-700, 0, 700, 0, color.ink, 1.4);
      for (const deg of [-20, -10, 10, 20]) {
        line(-26, -deg * PER_DEG, 26, -deg * PER_DEG, color.ink, 1);
        text(Math.abs(deg), 31, -deg * PER_DEG + 4, 10);
      }
      ctx.restore();
      const r = Math.min(tall * .82, cx - 8), top = cy + r - tall / 2 + 22;  // the bank's arc: fixed, zero on top
      const on = (deg, length) => [cx + length * Math.sin(rad(deg)), top - length * Math.cos(rad(deg))];
      for (const b of aims.bank || []) {
        if (b.low === null || b.high === null) continue;
        ctx.strokeStyle = color.accent; ctx.lineWidth = 7; ctx.globalAlpha = .55;
        ctx.beginPath(); ctx.arc(cx, top, r + 4, rad(b.low - 90), rad(b.high - 90)); ctx.stroke(); ctx.globalAlpha = 1;
        if (b.aim !== null) line(...on(b.aim, r - 3), ...on(b.aim, r + 10), color.ink, 2);
      }
      ctx.strokeStyle = color.ink; ctx.lineWidth = 1; ctx.beginPath(); ctx.arc(cx, top, r, rad(-150), rad(-30)); ctx.stroke();
      for (const deg of TICKS) line(...on(deg, r), ...on(deg, r + (deg % 30 ? 5 : 9)), color.ink, deg ? 1 : 2);
      if (bank !== null) {
        ctx.save(); ctx.translate(...on(Math.max(-70, Math.min(70, bank)), r - 1)); ctx.rotate(rad(Math.max(-70, Math.min(70, bank)))); mark(0, 0, true, color.out); ctx.restore();
      }
      ctx.strokeStyle = color.out; ctx.lineWidth = 3.5; ctx.lineCap = "round";
      ctx.beginPath(); ctx.moveTo(cx - 68, cy); ctx.lineTo(cx - 24, cy); ctx.moveTo(cx + 24, cy); ctx.lineTo(cx + 68, cy); ctx.moveTo(cx - 4, cy); ctx.lineTo(cx + 4, cy); ctx.stroke();
      ctx.lineCap = "butt";
      const said = (words, x, align) => { ctx.font = "600 12px system-ui, sans-serif"; const w = ctx.measureText(words).width; ctx.fillStyle = color.paper; ctx.globalAlpha = .78; ctx.fillRect(align === "left" ? x - 3 : x - w - 3, tall - 20, w + 6, 17); ctx.globalAlpha = 1; text(words, x, tall - 7, 12, { align, bold: true }); };
      said(bank === null ? "bank not known" : `bank ${Math.abs(bank).toFixed(0)}° ${side(bank)}`.trim(), 8, "left");
      said(pitch === null ? "pitch not known" : `nose ${pitch >= 0 ? "up" : "down"} ${Math.abs(pitch).toFixed(0)}°`, wide - 8, "right");
      if (at("warning")) {
        ctx.fillStyle = color.out; ctx.fillRect(cx - 66, cy + 14, 132, 22);
        text("STALL WARNING", cx, cy + 30, 13, { align: "center", fill: color.paper, bold: true });
      }
      ctx.restore();
    };

    /* The ball rolls to where it is pushed: away from the side the airplane is pushed to. 0.1 g: one ball's width. */
    const ball = (at, y) => {
      const g = at("ball"), cx = wide / 2;
      ctx.fillStyle = color.wash; ctx.strokeStyle = color.line; ctx.lineWidth = 1;
      ctx.beginPath(); ctx.roundRect(cx - 62, y, 124, 16, 8); ctx.fill(); ctx.stroke();
      if (g !== null) { ctx.fillStyle = color.ink; ctx.beginPath(); ctx.arc(cx - Math.max(-50, Math.min(50, g * 160)), y + 8, 7, 0, 7); ctx.fill(); }
      line(cx - 9, y, cx - 9, y + 16, color.ink); line(cx + 9, y, cx + 9, y + 16, color.ink);
    };

    const scale = ([key, word, span, step, over, under], v, then, aims, y, tall) => {
      const left = SIDE, middle = (wide + left) / 2, per = (wide - left) / span, box = tall - 9;
      const unit = units[key] === "°" ? "°" : ` ${units[key]}`;
      const aim = (aims[key] || [])[0];
      const out = v === null || !aim ? "" : aim.high !== null && v > aim.high + aim.slack ? over : aim.low !== null && v < aim.low - aim.slack ? under : "";
      text(out ? `${word}: ${out}` : word, 0, y + 12, 12, { fill: out ? color.out : color.soft, bold: Boolean(out) });
      text(v === null ? "–" : `${key === "heading" ? compass(v) : whole(v)}${unit}`, 0, y + 28, 14, { bold: true });
      ctx.save();
      ctx.beginPath(); ctx.roundRect(left, y, wide - left, box, 4); ctx.fillStyle = color.wash; ctx.fill(); ctx.strokeStyle = color.line; ctx.lineWidth = 1; ctx.stroke(); ctx.clip();
      if (v !== null) {
        const x = (value) => middle + (value - v) * per;
        if (aim) {
          const a = aim.low === null ? left : x(aim.low), b = aim.high === null ? wide : x(aim.high);
          ctx.fillStyle = color.band; ctx.fillRect(a, y, b - a, box);
          ctx.setLineDash([5, 3]);
          if (aim.low !== null) line(a, y, a, y + box, color.accent, 1.6);
          if (aim.high !== null) line(b, y, b, y + box, color.accent, 1.6);
          ctx.setLineDash([]);
          if (aim.aim !== null) mark(Math.max(left + 7, Math.min(wide - 7, x(aim.aim))), y + 9, false, color.accent);
        }
        for (let m = Math.ceil((v - span / 2) / step) * step; m <= v + span / 2; m += step) {
          line(x(m), y + box - 7, x(m), y + box, color.soft);
          if (x(m) > left + 18 && x(m) < wide - 18) text(key === "heading" ? compass(m) : whole(m), x(m), y + box - 10, 11, { align: "center" });
        }
        if (then !== null && then !== undefined) mark(Math.max(left + 7, Math.min(wide - 7, x(then))), y + box - 10, true, color.soft, true);
      }
      ctx.restore();
      mark(middle, y + box - 1, true, color.out);
    };

    const strips = SCALES.filter(([key]) => has(key));
    /* at(name) → value or null; aims: bands of this moment; then(name): an earlier attempt's value. */
    const show = (at, aims, then) => {
      if (!wide) return;
      ctx.clearRect(0, 0, wide, high);
      const row = 40, foot = 22, low = has("ball") ? 22 : 4;
      const tall = Math.max(96, Math.min(300, high - strips.length * row - foot - low));
      horizon(at, aims, tall);
      if (has("ball")) ball(at, tall + 3);
      strips.forEach((one, k) => scale(one, at(one[0]), then ? then(one[0]) : null, aims, tall + low + 4 + k * row, row - 2));
      text(facts(at).join("   "), 0, high - 5, 13, { bold: true });
    };
    const facts = (at) => {
      const notch = at("notch"), flaps = at("flaps"), load = at("load"), power = at("power"), manifold = at("manifold"), out = [];
      if (notch !== null) out.push(notch === 0 ? "flaps up" : `flaps ${notch}`);
      else if (flaps !== null) out.push(flaps === 0 ? "flaps up" : `flaps ${flaps}°`);
      if (load !== null) out.push(`${load.toFixed(1).replace("-", "−")} g`);
      if (power !== null) out.push(`power ${power} %`);
      if (manifold !== null) out.push(`${manifold} inHg`);
      return out;
    };
    /* In words, for who can't see it. */
    const words = (at) => [["bank", "bank", "°"], ["pitch", "pitch", "°"], ...strips.map(([k, w]) => [k, w, units[k] === "°" ? "°" : ` ${units[k]}`])]
      .map(([key, word, unit]) => [word, key === "heading" && at(key) !== null ? compass(at(key)) : at(key) === null ? null : whole(at(key)), unit])
      .filter(([, v]) => v !== null).map(([word, v, unit]) => `${word} ${v}${unit}`).concat(facts(at), at("warning") ? "stall warning" : []).join(", ");
    refresh(); fit();
    return { show, words, fit, refresh };
  };
  return { make };
})();
