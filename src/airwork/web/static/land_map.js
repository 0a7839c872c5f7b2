/* A map without a network: land from the bundled vector file, airports with their runways, a scale. Needs Leaflet. */
"use strict";
const airworkMap = (() => {
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const word = (text) => { const span = document.createElement("span"); span.textContent = text; return span; };

  /* An empty map in a holder; `surroundings` may hold land, airports and the box they fill. */
  const make = (holder, surroundings, bounds) => {
    const map = L.map(holder, { preferCanvas: true, attributionControl: false, zoomSnap: .25, maxZoom: 16, minZoom: 5, zoomAnimation: false, fadeAnimation: false });
    map.fitBounds(bounds);  // first of all: lines can't be laid on a map without a view
    map.createPane("land").style.zIndex = 250;
    map.createPane("own").style.zIndex = 300;  // lakes lie on the land and under the track
    if (surroundings.land) {
      L.geoJSON(surroundings.land, { interactive: false, pane: "land", style: { stroke: true, color: css("--line"), weight: 1, fillColor: css("--land"), fillOpacity: 1 } }).addTo(map);
    }
    for (const a of surroundings.airports || []) {
      for (const runway of a.runways) L.polyline(runway, { color: css("--soft"), weight: 4, interactive: false }).addTo(map);
      L.circleMarker(a.at, { radius: a.size === 0 ? 5 : a.size === 1 ? 4 : 2.5, color: css("--soft"), weight: 1.2, fill: false })
        .bindTooltip(word(`${a.ident} ${a.name}`)).addTo(map);
    }
    L.control.scale({ metric: true, imperial: false }).addTo(map);
    return map;
  };
  /* The user's own lakes and roads, under everything else. */
  const own = (map) => fetch("/map/own.json", { headers: { accept: "application/json" } }).then(async (got) => {
    const found = await got.json();
    if (!got.ok) throw new Error(found.error);
    for (const g of found.areas) L.geoJSON(g, { interactive: false, pane: "own", style: { stroke: false, fillColor: css("--water"), fillOpacity: 1 } }).addTo(map);
    for (const g of found.lines) L.geoJSON(g, { interactive: false, pane: "own", style: { color: css("--soft"), weight: 1 } }).addTo(map);
  }).catch((problem) => {
    const said = L.control({ position: "bottomright" });
    said.onAdd = () => { const p = document.createElement("p"); p.className = "problem"; p.textContent = `Your own map: ${problem.message}`; return p; };
    said.addTo(map);
  });
  const area = (map, corners) => {
    if (corners && corners.length) L.polygon(corners, { color: css("--accent"), weight: 1.5, dashArray: "7 5", fill: false, interactive: false }).addTo(map);
  };
  const label = (map, at, text, kind) => L.tooltip({ permanent: true, direction: "right", className: `map-word ${kind || ""}`, offset: [4, 0], interactive: false })
    .setLatLng(at).setContent(word(text)).addTo(map);
  return { make, own, area, label, css, word };
})();
