/* The moment of the flight: one cursor for the map, the panel, the drawings and every plot; played at a chosen speed. */
"use strict";
(() => {
  const section = document.getElementById("replay"), data = JSON.parse(document.getElementById("flight-data").textContent);
  const t = data.series.t;
  if (!t || t.length < 2) return;
  section.hidden = false;
  const slider = document.getElementById("moment"), play = document.getElementById("play"), rate = document.getElementById("rate");
  const clock = document.getElementById("clock"), during = document.getElementById("during");
  slider.max = t[t.length - 1];
  const show = airworkDials.panel(document.getElementById("panel"), data.series);
  let track = null, here = null, nose = null, now = 0;

  const index = (s) => { let i = 0, j = t.length - 1; while (i < j) { const m = (i + j) >> 1; if (t[m] < s) i = m + 1; else j = m; } return i; };
  const go = (s, from) => {
    now = Math.max(0, Math.min(s, t[t.length - 1]));
    const i = index(now);
    show(i);
    if (from !== "slider") slider.value = now;
    clock.textContent = airworkPlots.clock(now);
    slider.setAttribute("aria-valuetext", airworkPlots.clock(now));
    if (track && track.lat[i] !== null && track.lat[i] !== undefined) {
      const at = [track.lat[i], track.lon[i]];
      here.setLatLng(at);
      if (!here._map.getBounds().contains(at)) here._map.panTo(at, { animate: false });  // zoomed in: the map follows
      const j = Math.min(i + 8, track.lat.length - 1);
      if (track.lat[j] !== null) nose.setLatLngs([at, [track.lat[j], track.lon[j]]]);
    }
    const flown = track ? track.stretches.filter((x) => x.from <= now && now <= x.to) : [];
    during.textContent = flown.map((x) => `${x.number} ${x.title}`).join(", ");
    if (from !== "plot") document.dispatchEvent(new CustomEvent("airwork:go", { detail: now }));
  };
  document.addEventListener("airwork:moment", (e) => { if (!timer) go(e.detail, "plot"); });
  slider.addEventListener("input", () => go(Number(slider.value), "slider"));

  let timer = 0, last = 0;
  const stop = () => { cancelAnimationFrame(timer); timer = 0; play.textContent = "play"; play.setAttribute("aria-pressed", "false"); };
  const tick = (at) => {
    if (last) go(now + (at - last) / 1000 * Number(rate.value));
    last = at;
    if (now >= t[t.length - 1]) { stop(); return; }
    timer = requestAnimationFrame(tick);
  };
  play.addEventListener("click", () => {
    if (timer) { stop(); return; }
    if (now >= t[t.length - 1]) go(0);
    last = 0; play.textContent = "pause"; play.setAttribute("aria-pressed", "true");
    timer = requestAnimationFrame(tick);
  });

  const mapHolder = document.getElementById("flight-map");
  fetch(section.dataset.map).then((got) => got.ok ? got.json() : Promise.reject(new Error(got.status))).then((found) => {
    if (!found.t.length) { mapHolder.remove(); section.classList.add("no-map"); return; }
    const points = found.lat.map((lat, i) => lat === null ? null : [lat, found.lon[i]]);
    const path = points.filter((p) => p);
    const css = airworkMap.css, map = airworkMap.make(mapHolder, found, L.latLngBounds(path).pad(.06));
    airworkMap.area(map, found.area);
    const line = L.polyline(path, { color: css("--soft"), weight: 1.3, smoothFactor: .3 }).addTo(map);
    const bar = L.layerGroup().addTo(map);
    for (const s of found.stretches) {
      const part = points.slice(index(s.from), index(s.to) + 1).filter((p) => p);
      if (part.length < 2) continue;
      L.polyline(part, { color: css("--accent"), weight: 3, smoothFactor: .3 }).bindTooltip(airworkMap.word(`${s.number} ${s.title}`)).on("click", () => go(s.from)).addTo(bar);
    }
    for (const ideal of found.ideals) L.polyline(ideal, { color: css("--out"), weight: 1.6, dashArray: "6 4", smoothFactor: .3, interactive: false }).addTo(map);
    nose = L.polyline([], { color: css("--out"), weight: 3, interactive: false }).addTo(map);
    here = L.circleMarker(path[0], { radius: 6, color: css("--paper"), weight: 2, fillColor: css("--out"), fillOpacity: 1, interactive: false }).addTo(map);
    line.on("click", (e) => {
      let best = 0, least = Infinity;
      points.forEach((p, i) => { if (!p) return; const d = (p[0] - e.latlng.lat) ** 2 + ((p[1] - e.latlng.lng) * Math.cos(p[0] * Math.PI / 180)) ** 2; if (d < least) { least = d; best = i; } });
      go(t[best]);
    });
    track = found;
    airworkMap.own(map);
    go(now);
  }).catch((problem) => { console.error(problem); mapHolder.textContent = "The map could not be loaded."; });
  go(0);
  for (const input of document.querySelectorAll("input[data-moment]")) {  // a limit is taken from the cursor
    const take = document.createElement("button");
    take.type = "button"; take.className = "plain take"; take.textContent = "cursor";
    take.setAttribute("aria-label", `take the cursor's moment for "${input.name}"`);
    take.addEventListener("click", () => { input.value = `${Math.floor(now / 60)}:${(now % 60).toFixed(1).padStart(4, "0")}`; });
    input.parentElement.after(take);
  }
  for (const link of document.querySelectorAll('a[href^="#m"]')) link.addEventListener("click", () => {
    const episode = data.episodes[Number(link.getAttribute("href").slice(2)) - 1];
    if (episode) go(episode.from);
  });
})();
