/* A map without a network: land from the bundled vector file, airports with their runways, a scale. Needs Leaflet. */
"use strict";
const airworkMap = (() => {
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const word = (text) => { const span = document.createElement("span"); span.textContent = text; return span; };

  /* An empty map in a holder; `surroundings` may hold land, airports and the box they fill. */
  const make = (holder, surroundings, bounds) => {
    const map = L.map(holder, { preferCanvas: true, attributionControl: false, zoomSnap: .25, maxZoom: 16, minZoom: 5, zoomAnimation: false, fadeAnimation: false });
    map.fitBounds(bounds);  // first of all: lines can't be laid on a map without a view
    if (surroundings.land) {
      L.geoJSON(surroundings.land, { interactive: false, style: { stroke: true, color: css("--line"), weight: 1, fillColor: css("--land"), fillOpacity: 1 } }).addTo(map);
    }
    for (const a of surroundings.airports || []) {
      for (const runway of a.runways) L.polyline(runway, { color: css("--soft"), weight: 4, interactive: false }).addTo(map);
      L.circleMarker(a.at, { radius: a.size === 0 ? 5 : a.size === 1 ? 4 : 2.5, color: css("--soft"), weight: 1.2, fill: false })
        .bindTooltip(word(`${a.ident} ${a.name}`)).addTo(map);
    }
    L.control.scale({ metric: true, imperial: false }).addTo(map);
    return map;
  };
  const area = (map, corners) => {
    if (corners && corners.length) L.polygon(corners, { color: css("--accent"), weight: 1.5, dashArray: "7 5", fill: false, interactive: false }).addTo(map);
  };
  const label = (map, at, text, kind) => L.tooltip({ permanent: true, direction: "right", className: `map-word ${kind || ""}`, offset: [4, 0], interactive: false })
    .setLatLng(at).setContent(word(text)).addTo(map);
  return { make, area, label, css, word };
})();
