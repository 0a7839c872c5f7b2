/* A map without a network: land from the bundled vector file, airports with their runways, a scale. Needs Leaflet. */
"use strict";
const airworkMap = (() => {
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const word = (text) => { const span = document.createElement("span"); span.textContent = text; return span; };

  /* An empty map in a holder; `surroundings` may hold land, airports and the box they fill. */
  const make = (holder, surroundings, bounds) => {
    const map = L.map(holder, { preferCanvas: true, attributionControl: false, zoomSnap: .25, maxZoom: 16, minZoom: 5, zoomAnimation: false, fadeAnimation: false, scrollWheelZoom: false });
    map.on("focus click", () => map.scrollWheelZoom.enable()).on("blur", () => map.scrollWheelZoom.disable());  // till then the wheel scrolls the page
    map.fitBounds(bounds);  // first of all: lines can't be laid on a map without a view
    map.createPane("land").style.zIndex = 250;
    map.createPane("tiles").style.zIndex = 270;
    map.createPane("own").style.zIndex = 300;  // lakes lie on the land and under the track
    around(map, surroundings);
    scale(map);
    return map;
  };
  /* Land and airports under the rest. */
  const around = (map, surroundings) => {
    if (surroundings.land) {
      L.geoJSON(surroundings.land, { interactive: false, pane: "land", style: { stroke: true, color: css("--line"), weight: 1, fillColor: css("--land"), fillOpacity: 1 } }).addTo(map);
    }
    const still = { interactive: false, pane: "land" };
    for (const lake of surroundings.lakes || []) L.polygon(lake.points, { ...still, color: css("--river"), weight: .8, fillColor: css(lake.level === 2 ? "--water" : "--land"), fillOpacity: 1 }).addTo(map);
    for (const river of surroundings.rivers || []) L.polyline(river.points, { ...still, color: css("--river"), weight: 1.3 }).addTo(map);
    for (const border of surroundings.borders || []) L.polyline(border.points, { ...still, color: css("--line"), weight: 1.2, dashArray: "6 4" }).addTo(map);
    if (surroundings.towns?.length) towns(map, surroundings.towns);
    if (surroundings.credit) credit(map, surroundings.credit);
    for (const a of surroundings.airports || []) {
      for (const runway of a.runways) L.polyline(runway, { color: css("--soft"), weight: 4, interactive: false }).addTo(map);
      L.circleMarker(a.at, { radius: a.size === 0 ? 5 : a.size === 1 ? 4 : 2.5, color: css("--soft"), weight: 1.2, fill: false })
        .bindTooltip(word(`${a.ident} ${a.name}`)).addTo(map);
    }
  };
  /* Town names, the largest first, as many as have room at this zoom. */
  const towns = (map, all) => {
    const layer = L.layerGroup().addTo(map);
    const lay = () => {
      layer.clearLayers();
      const view = map.getBounds();
      const taken = (map.words || []).map((w) => { const p = map.latLngToContainerPoint(w.at); return { x: p.x + w.dx, y: p.y + w.dy - 8, wide: w.wide }; });
      let count = 0;
      for (const town of all) {
        if (!view.contains(town.at) || count >= 14) continue;
        const p = map.latLngToContainerPoint(town.at), wide = 7 * town.name.length + 10;
        if (taken.some((o) => Math.abs(o.x - p.x) < (o.wide + wide) / 2 && Math.abs(o.y - p.y) < 16)) continue;
        taken.push({ ...p, wide }); count += 1;
        L.circleMarker(town.at, { radius: 2, weight: 0, fillColor: css("--soft"), fillOpacity: 1, interactive: false, pane: "land" }).addTo(layer);
        L.tooltip({ permanent: true, direction: "bottom", className: "map-word town", offset: [0, 1], interactive: false }).setLatLng(town.at).setContent(word(town.name)).addTo(layer);
      }
    };
    map.on("moveend zoomend", lay);
    lay();
  };
  /* An airplane at a place, its nose up until it is turned. */
  const airplane = (where) => {
    return L.marker(where, { interactive: false, keyboard: false, icon: L.divIcon({ className: "airplane", iconSize: [34, 34], html: '<svg viewBox="-17 -17 34 34" width="34" height="34" aria-hidden="true"><path d="M0-15 L2.4-5 L15 1 L15 4 L2.4 2 L1.8 9 L5.5 12 L5.5 14 L0 12.6 L-5.5 14 L-5.5 12 L-1.8 9 L-2.4 2 L-15 4 L-15 1 L-2.4-5 Z"/></svg>' }) });
  };
  const credit = (map, text) => {
    const said = L.control({ position: "bottomright" });
    said.onAdd = () => { const p = document.createElement("p"); p.className = "credit"; p.textContent = text; return p; };
    said.addTo(map);
  };
  /* Asked of the server once for a box, in tenths of a degree: a lesson a little changed asks for the same. */
  const tenths = (degrees, round) => (round(degrees * 10) / 10).toFixed(1);
  const fetchAround = (map, bounds) => fetch(`/map/around.json?${new URLSearchParams({ south: tenths(bounds.getSouth(), Math.floor), west: tenths(bounds.getWest(), Math.floor), north: tenths(bounds.getNorth(), Math.ceil), east: tenths(bounds.getEast(), Math.ceil) })}`,
    { headers: { accept: "application/json" } }).then(async (got) => { if (got.ok && map.getPane("land")) around(map, await got.json()); }).catch((problem) => console.error(problem));
  /* A scale in the miles pilots fly by. */
  const scale = (map) => {
    const control = L.control({ position: "bottomleft" });
    control.onAdd = () => {
      const box = document.createElement("div");
      box.className = "map-scale";
      const fit = () => {
        const y = map.getSize().y / 2, wide = 110;
        const most = map.distance(map.containerPointToLatLng([0, y]), map.containerPointToLatLng([wide, y])) / Number(document.body.dataset.mPerNm);
        const power = 10 ** Math.floor(Math.log10(most)), miles = [5, 2, 1].map((k) => k * power).find((m) => m <= most);
        box.style.width = `${Math.round(wide * miles / most)}px`;
        box.textContent = `${Number(miles.toPrecision(2))} NM`;
      };
      map.on("zoomend moveend resize", fit);
      setTimeout(fit);
      return box;
    };
    control.addTo(map);
  };
  /* The user's own PMTiles file under the track: pieces fetched from this server, drawn in the page's colors. */
  const load = (src) => new Promise((done, failed) => {
    const script = document.createElement("script");
    script.src = src; script.addEventListener("load", done); script.addEventListener("error", () => failed(new Error("the program for tiles can't be loaded.")));
    document.head.append(script);
  });
  const rules = (layers) => {
    const P = protomapsL, area = 3, line = 2, point = 1;
    const polygon = (color, opacity) => new P.PolygonSymbolizer({ fill: css(color), opacity });
    const stroke = (color, width, dash) => new P.LineSymbolizer({ color: css(color), width, dash });
    const of = { ground: [["--land", 1, "--line", .8]], area: [["--area", 1, "--line", .8]], water: [["--water", 1, "--river", 1.2]], built: [["--line", 1, "--line", 1]],
      roads: [["--area", 1, "--road", 1.3]], borders: [["--area", 0, "--soft", 1, [4, 3]]], words: [["--area", 0, "--line", .8]] };
    const paintRules = [], labelRules = [];
    for (const [dataLayer, look] of layers) for (const [fill, opacity, color, width, dash] of of[look]) {
      if (opacity) paintRules.push({ dataLayer, symbolizer: polygon(fill, opacity), filter: (z, f) => f.geomType === area });
      paintRules.push({ dataLayer, symbolizer: stroke(color, width, dash), filter: (z, f) => f.geomType === line });
      labelRules.push({ dataLayer, symbolizer: new P.CenteredTextSymbolizer({ labelProps: ["name:en", "name"], fill: css("--soft"), stroke: css("--land"), width: 2, font: "12px system-ui, sans-serif" }), filter: (z, f) => f.geomType === point });
    }
    return { paintRules, labelRules };
  };
  const tiles = async (map, about) => {
    const [south, west, north, east] = about.box, bounds = [[south, west], [north, east]];
    const common = { bounds, pane: "tiles", attribution: about.credit, noWrap: true, minNativeZoom: about.least, maxNativeZoom: about.most };
    if (about.picture) L.tileLayer(about.url, common).addTo(map);
    else {
      if (!window.protomapsL) await load("/static/vendor/protomaps-leaflet.js");
      protomapsL.leafletLayer({ bounds, pane: "tiles", attribution: "", noWrap: true, url: about.url, maxDataZoom: about.most, ...rules(about.layers) }).addTo(map);
    }
    if (about.credit) credit(map, about.credit);
  };
  /* The user's own lakes and roads, under everything else. */
  const own = (map) => fetch("/map/own.json", { headers: { accept: "application/json" } }).then(async (got) => {
    const found = await got.json();
    if (!got.ok) throw new Error(found.error);
    if (found.tiles) await tiles(map, found.tiles);
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
  /* A word beside a place, on the side where none stands yet (`taken`: pixels of the words before it). */
  const SIDES = [["right", 12, 0], ["left", -12, 0], ["top", 0, -14], ["bottom", 0, 14]];
  const label = (layer, map, at, text, kind, taken) => {
    const p = map.latLngToContainerPoint(at), wide = 7 * text.length + 6;
    const box = ([side, x, y]) => ({ x: p.x + x + (side === "right" ? wide / 2 : side === "left" ? -wide / 2 : 0), y: p.y + y, wide });
    const free = (b) => taken.every((o) => Math.abs(o.x - b.x) > (o.wide + b.wide) / 2 || Math.abs(o.y - b.y) > 14);
    const side = SIDES.find((one) => free(box(one))) || SIDES[0];
    const put = box(side);
    taken.push(put, { ...p, wide: 10 });
    (map.words ||= []).push({ at, dx: put.x - p.x, dy: put.y - p.y, wide });  // towns give way to it
    return L.tooltip({ permanent: true, direction: side[0], className: `map-word ${kind || ""}`, offset: [side[1] / 3, side[2] / 3], interactive: false })
      .setLatLng(at).setContent(word(text)).addTo(layer);
  };
  return { airplane, make, own, fetchAround, area, label, css, word };
})();
