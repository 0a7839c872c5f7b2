/* Attitude and numbers at one moment, drawn as our own panel: a horizon, and scales that run under a fixed mark. */
"use strict";
const airworkDials = (() => {
  const NS = "http://www.w3.org/2000/svg";
  const make = (name, attributes, parent, text) => {
    const e = document.createElementNS(NS, name);
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    if (text !== undefined) e.textContent = text;
    if (parent) parent.append(e);
    return e;
  };
  const WIDE = 300, HORIZON = 170, STRIP = 40, SIDE = 88, PER_DEG = 4;
  // series column → name, unit, units across the strip, step between figures, wraps at 360
  const STRIPS = [["speed", "speed", "kt", 60, 20], ["altitude", "altitude", "ft", 1500, 500], ["heading", "heading", "°", 90, 30],
    ["vertical_speed", "climb", "fpm", 3000, 1000], ["rpm", "engine", "rpm", 1500, 500]];

  const horizon = (svg, known) => {
    const clip = make("clipPath", { id: "view" }, make("defs", {}, svg));
    make("rect", { x: 0, y: 0, width: WIDE, height: HORIZON, rx: 6 }, clip);
    const view = make("g", { "clip-path": "url(#view)" }, svg);
    const world = make("g", {}, view);
    make("rect", { class: "sky", x: -400, y: -600, width: 1100, height: 600 + HORIZON / 2 }, world);
    make("rect", { class: "earth", x: -400, y: HORIZON / 2, width: 1100, height: 700 }, world);
    make("line", { class: "edge", x1: -400, x2: 700, y1: HORIZON / 2, y2: HORIZON / 2 }, world);
    for (const deg of [-30, -20, -10, 10, 20, 30]) {
      const y = HORIZON / 2 - deg * PER_DEG;
      make("line", { class: "rung", x1: WIDE / 2 - 26, x2: WIDE / 2 + 26, y1: y, y2: y }, world);
      make("text", { class: "rung", x: WIDE / 2 + 31, y: y + 4 }, world, Math.abs(deg));
    }
    const wings = make("g", { class: "wings" }, view);
    make("path", { d: `M${WIDE / 2 - 70} ${HORIZON / 2} h46 m48 0 h46 M${WIDE / 2} ${HORIZON / 2} m-5 0 h10` }, wings);
    const bank = make("text", { class: "said", x: 8, y: 18 }, svg), pitch = make("text", { class: "said", x: WIDE - 8, y: 18, "text-anchor": "end" }, svg);
    return (at) => {
      const b = at("bank"), p = at("pitch");
      world.setAttribute("transform", `rotate(${-(b || 0)} ${WIDE / 2} ${HORIZON / 2}) translate(0 ${(p || 0) * PER_DEG})`);
      bank.textContent = b === null ? "bank not known" : `bank ${Math.abs(b).toFixed(0)}° ${b > .5 ? "right" : b < -.5 ? "left" : ""}`;
      pitch.textContent = p === null ? "pitch not known" : `nose ${p >= 0 ? "up" : "down"} ${Math.abs(p).toFixed(0)}°`;
    };
  };

  const strip = (svg, y, name, unit, span, step, wraps, key) => {
    const clip = make("clipPath", { id: `strip-${key}` }, make("defs", {}, svg));
    make("rect", { x: SIDE, y, width: WIDE - SIDE, height: STRIP - 6, rx: 4 }, clip);
    make("rect", { class: "strip", x: SIDE, y, width: WIDE - SIDE, height: STRIP - 6, rx: 4 }, svg);
    make("text", { class: "name", x: 0, y: y + 12 }, svg, name);
    const value = make("text", { class: "value", x: 0, y: y + 29 }, svg);
    const marks = make("g", { "clip-path": `url(#strip-${key})` }, svg);
    const middle = (WIDE + SIDE) / 2;
    make("path", { class: "pointer", d: `M${middle} ${y + STRIP - 6} l-5 7 h10 z` }, svg);
    return (v) => {
      value.textContent = v === null ? "–" : `${(wraps ? (((Math.round(v) % 360) + 359) % 360) + 1 : Math.round(v)).toLocaleString("en-US")} ${unit}`.replace("-", "−");
      marks.replaceChildren();
      if (v === null) return;
      const scale = (WIDE - SIDE) / span;
      for (let mark = Math.ceil((v - span / 2) / step) * step; mark <= v + span / 2; mark += step) {
        const x = middle + (mark - v) * scale;
        make("line", { x1: x, x2: x, y1: y + STRIP - 14, y2: y + STRIP - 6 }, marks);
        if (x < SIDE + 16 || x > WIDE - 16) continue;  // no half a number at the ends
        make("text", { x, y: y + 17, "text-anchor": "middle" }, marks, (wraps ? (((mark % 360) + 359) % 360) + 1 : mark + 0).toLocaleString("en-US").replace("-", "−"));
      }
    };
  };

  /* The panel in a holder for the columns a flight has; gives a function that shows sample i. */
  const panel = (holder, series) => {
    const strips = STRIPS.filter(([key]) => series[key]);
    const high = HORIZON + 12 + strips.length * (STRIP + 6);
    const svg = make("svg", { viewBox: `0 0 ${WIDE} ${high}`, class: "dials" });
    holder.replaceChildren(svg);
    const set = [];
    const view = horizon(svg);
    strips.forEach(([key, name, unit, span, step], k) => set.push([key, strip(svg, HORIZON + 12 + k * (STRIP + 6), name, unit, span, step, key === "heading", key)]));
    return (i) => {
      const at = (key) => series[key] ? series[key][i] : null;
      view(at);
      for (const [key, move] of set) move(at(key));
    };
  };
  return { panel };
})();
