/* The earlier attempt beside this one: its strip, its map and its gauges, at the same time since the roll-in. Needs
   plots.js, gauges.js, land_map.js; told by screen.js what is loaded and which moment it is. */
"use strict";
(() => {
  const section = document.getElementById("screen"), $ = (id) => document.getElementById(id), lanes = $("lanes");
  if (!section || !lanes) return;
  const data = JSON.parse($("flight-data").textContent), units = Object.fromEntries(Object.entries(data.plots).map(([k, p]) => [k, p.unit]));
  const WIDE = 1000, TALL = 30, ROOM = 4;
  let loaded = null, one = null, around = null, shared = null, panel = null, map = null, box = null, airplane = null, first = 0, last = 1, now = 0;

  const HELD = ["flaps", "notch", "warning", "power", "manifold"];  // as they stood: half a notch is none
  const at = (name) => {
    if (!loaded || !Array.isArray(loaded.series[name])) return null;
    const { series } = loaded, then = now - one.roll + loaded.roll, inside = series.t[0] <= then && then <= series.t[series.t.length - 1];
    return (HELD.includes(name) ? inside && series[name][airworkPlots.index(series.t, then)] : airworkPlots.laid(series, [then], name)?.[0]) ?? null;
  };

  /* Both attempts over the time since the roll-in, altitude over the one they began at, to one scale. */
  const profile = (series, roll, from, to) => {
    const a = airworkPlots.index(series.t, from), b = airworkPlots.index(series.t, to) + 1, times = series.t.slice(a, b);
    const from_roll = series.altitude[airworkPlots.index(series.t, roll)] ?? series.altitude.find((v) => v !== null) ?? 0;
    return times.map((t, k) => [t - roll, (series.altitude[a + k] ?? NaN) - from_roll]).filter(([, h]) => !isNaN(h));
  };
  const draw = () => {
    const own = profile(data.series, one.roll, one.from, one.to), { t } = loaded.series, then = profile(loaded.series, loaded.roll, t[0], t[t.length - 1]);
    const all = [...own, ...then], heights = all.map(([, h]) => h), low = Math.min(...heights), high = Math.max(...heights, low + 100);
    first = Math.min(...all.map(([s]) => s)); last = Math.max(...all.map(([s]) => s), first + 1);
    const x = (s) => (s - first) / (last - first) * WIDE;
    for (const [id, points] of [["lane-1", own], ["lane-2", then]]) {
      const line = points.map(([s, h]) => `${x(s).toFixed(1)},${(TALL - ROOM - (h - low) / (high - low) * (TALL - 2 * ROOM)).toFixed(1)}`).join(" ");
      $(id).innerHTML = `<svg viewBox="0 0 ${WIDE} ${TALL}" preserveAspectRatio="none" aria-hidden="true"><line class="roll" x1="${x(0)}" x2="${x(0)}" y2="${TALL}"/><polyline class="flown" points="${line}"/></svg>`;
    }
  };
  const lay = () => {
    const { lat, lon, t } = loaded.series, holder = $("map-2"), path = (lat || []).map((v, k) => v === null ? null : [v, lon[k]]);
    if (map) { map.remove(); map = null; }
    const flown = path.filter(Boolean);
    holder.hidden = flown.length < 2;
    if (holder.hidden) return;
    box = L.latLngBounds(flown).pad(.3);
    const here = around && !loaded.elsewhere;
    map = airworkMap.make(holder, here ? { ...around, credit: "" } : {}, box);
    if (!here && section.dataset.map) airworkMap.fetchAround(map, box);
    L.polyline(flown, { color: airworkMap.css("--soft"), weight: 2.4, smoothFactor: .4, interactive: false }).addTo(map);
    L.circleMarker(path[airworkPlots.index(t, loaded.roll)] || flown[0], { radius: 4, color: airworkMap.css("--ink"), weight: 1.6, fill: false, interactive: false }).addTo(map);
    airplane = airworkMap.airplane(flown[0]).addTo(map);
  };
  const show = () => {
    if (!loaded) return;
    const since = now - one.roll, share = Math.max(0, Math.min(1, (since - first) / (last - first)));
    lanes.style.setProperty("--at", share);
    $("since").textContent = `${since < 0 ? "−" : "+"}${Math.abs(since).toFixed(0)} s`;
    panel.show(at, {}, null);
    if (map) {
      const lat = at("lat"), lon = at("lon"), heading = at("heading");
      if (lat !== null && lon !== null) { airplane.setLatLng([lat, lon]); if (heading !== null && airplane._icon) airplane._icon.firstChild.style.transform = `rotate(${heading}deg)`; if (!map.getBounds().contains([lat, lon])) map.panTo([lat, lon], { animate: false }); }
    }
    $("panel-2").setAttribute("aria-label", `gauges of the earlier attempt: ${panel.words(at)}`);
  };
  document.addEventListener("airwork:chosen", ({ detail: { chosen, data: whole } }) => { shared = whole; one = data.episodes[chosen] || null; loaded = null; section.classList.remove("paired"); });
  document.addEventListener("airwork:earlier", ({ detail }) => {
    loaded = one && detail?.series.altitude ? detail : null;
    around = shared?.map || null;  // the first map's land and water, once it is there
    section.classList.toggle("paired", Boolean(loaded));
    if (!loaded) return;
    $("lane-said").textContent = loaded.words;
    draw();
    panel = airworkGauges.make($("panel-2"), units, (name) => Array.isArray(loaded.series[name]));
    lay();
    show();
  });
  document.addEventListener("airwork:now", ({ detail }) => { now = detail.now; show(); });
  new ResizeObserver(() => { if (panel) { panel.fit(); show(); } }).observe($("panel-2"));
  new ResizeObserver(() => { if (map) { map.invalidateSize(); map.fitBounds(box); } }).observe($("map-2"));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { if (panel) { panel.refresh(); show(); } });
})();
