/* The practice area and its landing places by pointing. What is pointed stands as text in the form, and only there. */
"use strict";
(() => {
  const tools = document.getElementById("map-tools"), form = document.getElementById("lesson-form");
  const make = (tag, words, kind) => { const e = document.createElement(tag); if (words) e.textContent = words; if (kind) e.className = kind; return e; };
  const button = (words) => { const b = make("button", words, "small"); b.type = "button"; b.setAttribute("aria-pressed", "false"); tools.append(b); return b; };
  const field = (name) => form.elements.namedItem(`area/${name}`);
  const short = (at) => `${at.lat.toFixed(4)} ${at.lng.toFixed(4)}`;
  const PAIR = /(-?\d+(?:\.\d+)?)[\s,]+(-?\d+(?:\.\d+)?)/;
  const position = (text) => { const found = PAIR.exec(text); return found && L.latLng(Number(found[1]), Number(found[2])); };
  let map = null, data = null, layer = null, mode = "", drawn = null;

  const area = button("draw the area"), place = button("add landing places");
  const says = make("span", "", "soft"); says.setAttribute("role", "status");
  tools.append(says);

  const write = (name, text) => { const into = field(name); into.value = text; into.dispatchEvent(new Event("input", { bubbles: true })); };
  const corners = () => (field("polygon")?.value || "").split(/[;\n]/).map(position).filter(Boolean);
  const places = () => (field("landing_places")?.value || "").split("\n").filter((line) => line.trim());
  let begun = [];

  const keep = (list) => { begun = list; if (list.length >= 3) write("polygon", list.map(short).join("; ")); handles(); };
  const handle = (at, kind, words) => L.marker(at, { draggable: true, keyboard: true, title: words, alt: words, icon: L.divIcon({ className: `handle ${kind}`, iconSize: kind === "between" ? [14, 14] : [20, 20] }) }).addTo(layer);
  const keys = (marker, moved, gone) => marker.getElement()?.addEventListener("keydown", (e) => {
    const step = { ArrowUp: [1, 0], ArrowDown: [-1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[e.key], size = e.shiftKey ? .01 : .001;
    if (step) { const at = marker.getLatLng(); moved(L.latLng(at.lat + step[0] * size, at.lng + step[1] * size)); }
    else if (e.key === "Delete" || e.key === "Backspace") gone();
    else return;
    e.preventDefault(); e.stopPropagation();
  });
  const handles = (focus) => {
    if (!layer) return;
    layer.clearLayers();
    if (mode === "area") {
      const list = begun;
      if (list.length > 1) L.polygon(list, { color: airworkMap.css("--accent"), weight: 2, fillOpacity: .06, interactive: false }).addTo(layer);
      list.forEach((at, k) => {
        const one = handle(at, "corner", `corner ${k + 1}: drag it, or arrow keys; Delete takes it out`);
        const to = (now) => { keep(list.map((c, j) => j === k ? now : c)); focusOn(k); };
        one.on("dragend", () => to(one.getLatLng()));
        keys(one, to, () => keep(list.filter((_, j) => j !== k)));
        if (list.length >= 3) {
          const next = list[(k + 1) % list.length];
          const between = handle([(at.lat + next.lat) / 2, (at.lng + next.lng) / 2], "between", `one more corner after ${k + 1}`);
          between.on("dragend click", () => keep([...list.slice(0, k + 1), between.getLatLng(), ...list.slice(k + 1)]));
        }
      });
    }
    if (mode === "place") places().forEach((line, k) => {
      const at = position(line.slice(line.indexOf(":") + 1));
      if (!at) return;
      const one = handle(at, "place", `${line.slice(0, line.indexOf(":"))}: drag it, or arrow keys; Delete takes it out`);
      const to = (now) => { write("landing_places", places().map((l, j) => j === k ? l.slice(0, l.indexOf(":") + 1) + l.slice(l.indexOf(":") + 1).replace(PAIR, short(now)) : l).join("\n")); handles(); };
      one.on("dragend", () => to(one.getLatLng()));
      keys(one, to, () => { write("landing_places", places().filter((_, j) => j !== k).join("\n")); handles(); });
    });
  };
  const focusOn = (k) => [...document.querySelectorAll(".handle.corner")][k]?.focus();
  const turn = (to) => {
    mode = mode === to ? "" : to;
    area.setAttribute("aria-pressed", String(mode === "area")); place.setAttribute("aria-pressed", String(mode === "place"));
    area.textContent = mode === "area" ? "area done" : "draw the area"; place.textContent = mode === "place" ? "places done" : "add landing places";
    map.getContainer().classList.toggle("pointing", mode !== "");
    begun = corners();
    says.textContent = mode === "area" ? (begun.length ? "drag the corners; click for one more" : "click the corners, in order around") : mode === "place" ? "click where you would land" : "";
    handles();
  };
  area.addEventListener("click", () => turn("area"));
  place.addEventListener("click", () => turn("place"));

  const miles = (a, b) => (map.distance(a, b) / Number(document.body.dataset.mPerNm)).toFixed(1);
  const course = (a, b) => { const y = (b.lng - a.lng) * Math.cos((a.lat + b.lat) * Math.PI / 360), x = b.lat - a.lat; return String(Math.round((Math.atan2(y, x) * 180 / Math.PI + 360) % 360) || 360).padStart(3, "0"); };
  /* Where a point lies from the field. */
  const look = (at) => {
    const home = L.latLng(data.home.at);
    says.textContent = `${short(at)}: ${course(home, at)}° true, ${miles(home, at)} NM from ${data.home.name.split(" ")[0]}`;
  };
  const listen = () => {
    map.on("mousemove", (e) => { if (mode) look(e.latlng); });
    map.on("click", (e) => {
      if (mode === "area") keep([...begun, e.latlng]);
      else if (mode === "place") { const list = places(); write("landing_places", [...list, `field ${list.length + 1}: ${short(e.latlng)}`].join("\n")); handles(); }
    });
  };
  document.addEventListener("airwork:map", (e) => {
    const first = map === null;
    ({ map, data } = e.detail);
    if (first) { layer = L.layerGroup().addTo(map); listen(); tools.hidden = false; }
  });
})();
