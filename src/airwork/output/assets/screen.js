/* The flight on one screen: strip, map, gauges and the plots of the chosen maneuver, all at one moment. One cursor,
   moved by dragging, by keys, or by playing. Needs uPlot, Leaflet, plots.js, gauges.js, land_map.js. */
"use strict";
(() => {
  const section = document.getElementById("screen"), data = JSON.parse(document.getElementById("flight-data").textContent);
  const { series, episodes } = data, t = series.t;
  if (!section || !t || t.length < 2) return;
  const $ = (id) => document.getElementById(id), { clock, index } = airworkPlots;
  const end = t[t.length - 1], WHOLE = -1;
  section.classList.add("on");

  /* Samples between samples; what changes seldom stands as [sample, value from there on]. */
  for (const [name, changes] of Object.entries(data.seldom)) series[name] = { changes, at: changes.map((c) => c[0]) };
  let now = 0, i = 0, f = 0;
  const between = (list) => {
    const a = list[i], b = list[i + 1];
    return a === null || a === undefined ? null : b === null || b === undefined ? a : a + f * (b - a);
  };
  const at = (name) => {
    const list = series[name];
    if (!list) return null;
    if (Array.isArray(list)) return between(list);
    let k = index(list.at, i);
    if (list.at[k] > i) k--;
    return k < 0 ? null : list.changes[k][1];
  };
  const units = Object.fromEntries(Object.entries(data.plots).map(([k, p]) => [k, p.unit]));

  /* Gauges */
  const canvas = $("panel"), panel = airworkGauges.make(canvas, units, (name) => Boolean(series[name]));
  const aims = () => {
    const out = {}, one = episodes[chosen], inside = one && one.from <= now && now <= one.to ? [one] : [];
    for (const e of [...inside, ...episodes]) if (e.start <= now && now <= e.end) for (const [name, bands] of Object.entries(e.bands)) {
      const here = bands.filter((b) => b.from <= now && now <= b.to);
      if (here.length && !out[name]) out[name] = here;
    }
    return out;
  };

  /* Strip */
  const strip = $("strip"), needle = strip.querySelector(".now"), blocks = [...strip.querySelectorAll("g[data-k]")];
  needle.hidden = false;
  const momentAt = (e) => { const box = strip.getBoundingClientRect(); return (e.clientX - box.left) / box.width * end; };
  let dragged = false;
  strip.addEventListener("pointerdown", (e) => { strip.setPointerCapture(e.pointerId); dragged = false; stop(); pressed = e.clientX; });
  let pressed = 0;
  strip.addEventListener("pointermove", (e) => { if (e.buttons && Math.abs(e.clientX - pressed) > 3) dragged = true; if (e.buttons && dragged) go(momentAt(e)); });
  strip.addEventListener("pointerup", (e) => {
    if (dragged) return;
    const touch = e.pointerType === "touch", s = momentAt(e), slack = end * (touch ? 12 : 4) / strip.clientWidth;  // 24 px under a thumb
    const hit = episodes.map((one, k) => [k, one]).filter(([, o]) => o.start - slack <= s && s <= o.end + slack);
    const block = touch ? null : document.elementsFromPoint(e.clientX, e.clientY).map((x) => x.closest("g[data-k]")).find(Boolean);
    const worth = (o) => (touch && o.mark === "out" ? 0 : touch && o.mark === "brief" ? 1 : o.plain ? 3 : 2);  // of neighbors too fine to tell, the one to talk about
    hit.sort((a, b) => worth(a[1]) - worth(b[1]) || (a[1].end - a[1].start) - (b[1].end - b[1].start));
    if (block) choose(Number(block.dataset.k)); else if (hit.length) choose(hit[0][0]);
    go(block || hit.length ? Math.max(episodes[chosen].start, Math.min(s, episodes[chosen].end)) : s);
  });

  /* The chosen maneuver: its words, its plots, its own section below */
  const which = $("which"), head = $("chosen"), live = $("live");
  let chosen = WHOLE, loaded = null;
  const put = (parent, tag, kind, text) => { if (!text) return null; const e = document.createElement(tag); e.className = kind; e.textContent = text; parent.append(e); return e; };
  const named = (e) => {
    head.replaceChildren();
    if (!e) { put(head, "h2", "", "The whole flight"); return; }
    const h = put(head, "h2", "", `${e.number}. ${e.title} `);
    if (!e.steps) put(h, "span", `mark ${e.mark}`, `${e.sign} ${e.word}`.trim());
    put(head, "p", "why", [e.worst && (e.sign === "✓" ? e.worst : `worst: ${e.worst}`), e.cause].filter(Boolean).join(". "));
  };
  const LEAST_HIGH = 78;  // a plot less high shows no deviation
  const most = () => section.dataset.plots ? Number(section.dataset.plots) : Math.max(2, Math.min(4, Math.floor(live.clientHeight / LEAST_HIGH)));
  const plotted = (e) => {
    const all = e ? e.plots : ["altitude", "speed", "bank", "heading"].filter((p) => data.plots[p]);
    const first = [...all.filter((p) => e && e.bands[p]), ...all.filter((p) => !e || !e.bands[p])].slice(0, most());
    return all.filter((p) => first.includes(p));
  };
  const paint = () => {
    airworkPlots.clear("live");
    live.replaceChildren();
    const e = episodes[chosen], from = e ? e.from : 0, to = e ? e.to : end, names = plotted(e);
    const mirrored = Boolean(loaded && e && wayOf(loaded.series.bank, loaded.series.t, -Infinity, Infinity) * wayOf(series.bank, t, e.start, e.end) < 0), shift = loaded && e ? e.roll - loaded.roll : 0;
    $("key").hidden = !e;
    if (e) $("key").textContent = [e.steps ? "the ideal" : "flown", Object.keys(e.bands).length && "shaded: within the limit, heavy: outside it", e.ideal && "long dashes: ideal", loaded && `dots: ${loaded.words}${mirrored ? " (the other way, mirrored)" : ""}, from the same altitude and heading`].filter(Boolean).join(" · ");
    names.forEach((column, k) => {
      const { name, unit, room } = data.plots[column], holder = put(live, "div", "plot", " "), title = document.createElement("h3");
      title.textContent = `${name}, ${unit}`;
      holder.replaceChildren(title);
      const [times, flown] = airworkPlots.slice(series, column, from, to), last = k === names.length - 1;
      airworkPlots.draw(holder, {
        t: times, flown, unit, room, compass: column === "heading", group: "live", bare: true, last,
        limits: e ? [e.start, e.end] : [], bands: e ? e.bands[column] || [] : [], ideal: e ? airworkPlots.laid(e.ideal, times, column) : null,
        earlier: loaded && e ? near(airworkPlots.laid(loaded.series, times, column, shift), flown, column, mirrored) : null,
        height: () => Math.max(40, (live.clientHeight - 22) / names.length - 19) + (last ? 22 : 0),
      }, (s) => { if (!timer) go(s); });
    });
  };
  /* A turn the other way is laid over mirrored, so that both can be compared; headings and altitudes begin on the same one. */
  const wayOf = (bank, times, from, to) => {
    let sum = 0;
    (bank || []).forEach((v, n) => { if (v !== null && Math.abs(v) > 10 && from <= times[n] && times[n] <= to) sum += v; });
    return Math.sign(sum);
  };
  const near = (list, flown, column, mirrored) => {
    if (!list || !(["heading", "altitude"].includes(column) || (mirrored && column === "bank"))) return list;
    if (column === "bank") return list.map((v) => v === null ? null : -v);
    const k = list.findIndex((v, n) => v !== null && flown[n] !== null);
    const turned = mirrored && column === "heading" ? -1 : 1;
    return k < 0 ? list : list.map((v) => v === null ? null : flown[k] + turned * (v - list[k]));
  };
  const choose = (k, { move = false, quiet = false } = {}) => {
    if (k < WHOLE || k >= episodes.length) return;
    if (k !== chosen) { loaded = null; document.dispatchEvent(new CustomEvent("airwork:chosen", { detail: { chosen: k, data } })); }
    chosen = k;
    const e = episodes[k];
    which.value = String(k);
    for (const b of blocks) b.classList.toggle("chosen", Number(b.dataset.k) === k);
    for (const s of document.querySelectorAll("section.episode")) s.classList.toggle("shown", Number(s.dataset.episode) === k);
    $("one").disabled = !e;
    named(e);
    paint();
    range = null;
    if (map && !quiet) look(e);
    if (move && e) go(e.start);
  };
  for (const e of [{ number: "", title: "the whole flight" }, ...episodes]) {
    const o = put(which, "option", "", `${e.number} ${e.title}${e.sign && e.sign !== "✓" ? ` ${e.sign}` : ""}`.trim());
    o.value = String(episodes.indexOf(e));
  }
  /* On a phone the strip's blocks are finer than a thumb: what was out stands under it as buttons too. */
  const jumps = $("jumps");
  for (const [k, e] of episodes.entries()) {
    if (e.mark !== "out" && e.mark !== "brief") continue;
    const button = put(jumps, "button", "plain", `${e.number} ${e.sign} ${e.title}`);
    button.type = "button";
    button.addEventListener("click", () => choose(k, { move: true }));
  }
  jumps.hidden = !jumps.children.length;
  which.addEventListener("change", () => choose(Number(which.value), { move: true }));
  const step = (way) => {
    const order = episodes.map((e, k) => [e.start, k]).sort((a, b) => a[0] - b[0] || a[1] - b[1]).map(([, k]) => k);
    if (!order.length) return;
    const here = order.indexOf(chosen);
    choose(order[here < 0 ? (way > 0 ? 0 : order.length - 1) : Math.max(0, Math.min(order.length - 1, here + way))], { move: true });
  };
  $("before").addEventListener("click", () => step(-1));
  $("after").addEventListener("click", () => step(1));

  /* Map */
  const holder = $("flight-map");
  let map = null, track = null, airplane = null, strong = null, around = null;
  const look = (e) => {
    const from = e ? index(t, e.from) : 0, to = e ? index(t, e.to) : t.length - 1;
    const part = track.slice(from, to + 1).filter(Boolean);
    strong.setLatLngs(e ? track.slice(index(t, e.start), index(t, e.end) + 1).filter(Boolean) : []);
    if (part.length > 1) map.fitBounds(L.latLngBounds(part).pad(.15), { animate: false, maxZoom: 14 });
    inner();
  };
  const inner = () => { around = map.getBounds().pad(-.08); };
  const place = () => {
    const a = track[i], b = track[i + 1] || a;
    if (!a) return;
    const here = [a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1])];
    airplane.setLatLng(here);
    const way = at("heading");
    if (way !== null && airplane._icon) airplane._icon.firstChild.style.transform = `rotate(${way}deg)`;
    if (!around.contains(here)) { map.panTo(here, { animate: false }); inner(); }
  };
  const lay = (found) => {
    data.map = found;
    if (!found.lat.length) { holder.parentElement.remove(); section.classList.add("no-map"); return; }
    track = found.lat.map((lat, k) => lat === null ? null : [lat, found.lon[k]]);
    const path = track.filter(Boolean), css = airworkMap.css;
    map = airworkMap.make(holder, found, L.latLngBounds(path).pad(.06));
    airworkMap.area(map, found.area);
    const line = L.polyline(path, { color: css("--soft"), weight: 1.3, smoothFactor: .4 }).addTo(map);
    for (const [k, e] of episodes.entries()) {
      const part = track.slice(index(t, e.start), index(t, e.end) + 1).filter(Boolean);
      if (part.length < 2 || e.plain) continue;
      L.polyline(part, { color: css("--accent"), weight: 2.2, smoothFactor: .4, dashArray: e.mark === "out" ? "7 5" : null }).bindTooltip(airworkMap.word(`${e.number} ${e.title}`)).on("click", () => { choose(k, { quiet: true }); }).addTo(map);
    }
    strong = L.polyline([], { color: css("--out"), weight: 4, smoothFactor: .3, interactive: false }).addTo(map);
    for (const ideal of found.ideals) L.polyline(ideal, { color: css("--ink"), weight: 1.6, dashArray: "6 4", smoothFactor: .3, interactive: false }).addTo(map);
    airplane = airworkMap.airplane(path[0]).addTo(map);
    line.on("click", (e) => {
      let best = 0, least = Infinity;
      track.forEach((p, k) => { if (!p) return; const d = (p[0] - e.latlng.lat) ** 2 + ((p[1] - e.latlng.lng) * Math.cos(p[0] * Math.PI / 180)) ** 2; if (d < least) { least = d; best = k; } });
      go(t[best]);
    });
    map.on("moveend zoomend resize", inner);
    new ResizeObserver(() => {
      const shown = map.getSize().x;
      map.invalidateSize();
      if (!shown && holder.clientWidth) { look(episodes[chosen]); go(now); }  // it was folded away
    }).observe(holder);
    if (section.dataset.map) airworkMap.own(map);
    look(episodes[chosen]);
    go(now);
    section.classList.add("mapped");
  };

  /* The moment: everything that shows it */
  const slider = $("moment"), said = $("clock"), wind = $("wind");
  slider.max = end;
  const go = (s, from) => {
    now = Math.max(0, Math.min(s, end));
    i = Math.max(index(t, now) - (t[index(t, now)] > now ? 1 : 0), 0);
    f = i + 1 < t.length ? (now - t[i]) / (t[i + 1] - t[i]) : 0;
    const shift = loaded && episodes[chosen] ? episodes[chosen].roll - loaded.roll : 0;
    panel.show(at, aims(), loaded ? (name) => name === "heading" ? null : airworkPlots.laid(loaded.series, [now], name, shift)?.[0] ?? null : null);
    needle.style.transform = `translateX(${now / end * strip.clientWidth}px)`;
    if (from !== "slider") slider.value = now;
    if (said.textContent !== clock(now)) said.textContent = clock(now);
    if (!timer) { slider.setAttribute("aria-valuetext", clock(now)); canvas.setAttribute("aria-label", `gauges: ${panel.words(at)}`); }
    if (map) place();
    const blows = at("wind"), away = at("wind_from");
    if (blows !== null && away !== null) {
      const words = blows < 1 ? "calm now" : `${String(((Math.round(away) + 359) % 360) + 1).padStart(3, "0")}/${blows} kt now`;  // the head names the whole flight's
      if (wind.lastChild.textContent !== words) { wind.hidden = false; wind.lastChild.textContent = words; wind.firstChild.style.transform = `rotate(${away + 180}deg)`; }
    }
    airworkPlots.go(now);
    document.dispatchEvent(new CustomEvent("airwork:now", { detail: { now, playing: Boolean(timer), chosen } }));
  };
  document.addEventListener("airwork:moment", (e) => { if (!timer) go(e.detail); });
  slider.addEventListener("input", () => { stop(); go(Number(slider.value), "slider"); });

  /* Playing */
  const play = $("play"), one = $("one"), loop = $("loop"), rate = $("rate");
  let timer = 0, last = 0, range = null;
  const stop = () => { cancelAnimationFrame(timer); timer = 0; play.textContent = "play"; play.setAttribute("aria-pressed", "false"); };
  const start = () => { last = 0; play.textContent = "pause"; play.setAttribute("aria-pressed", "true"); timer = requestAnimationFrame(tick); };
  const tick = (stamp) => {
    const until = range ? range[1] : end;
    timer = requestAnimationFrame(tick);
    if (last) go(Math.min(now + (stamp - last) / 1000 * Number(rate.value), until));
    last = stamp;
    if (now < until) return;
    if (range && loop.checked) { go(range[0]); return; }
    stop();
  };
  const toggle = () => {
    if (timer) { stop(); return; }
    if (range && (now >= range[1] || now < range[0])) range = null;
    if (now >= end) go(0);
    start();
  };
  play.addEventListener("click", toggle);
  one.addEventListener("click", () => {
    const e = episodes[chosen];
    if (!e) return;
    stop(); range = [Math.max(e.from, 0), Math.min(e.to, end)];
    go(range[0]); start();
  });
  section.addEventListener("keydown", (e) => {
    if (e.target.matches("select, input:not([type=range]), textarea, a, summary") || e.ctrlKey || e.metaKey || e.altKey) return;
    const far = e.shiftKey ? 10 : 1, keys = {
      " ": () => toggle(), ArrowLeft: () => { stop(); go(now - far); }, ArrowRight: () => { stop(); go(now + far); },
      ArrowUp: () => step(-1), ArrowDown: () => step(1),
    };
    if (!keys[e.key] || (e.key === " " && e.target.matches("button"))) return;
    e.preventDefault();
    keys[e.key]();
  });
  strip.addEventListener("pointerdown", () => section.focus({ preventScroll: true }));

  /* On a phone one of plots, map and gauges at a time. */
  for (const button of section.querySelectorAll("[data-view]")) button.addEventListener("click", () => {
    section.dataset.shows = button.dataset.view;
    for (const b of section.querySelectorAll("[data-view]")) b.setAttribute("aria-pressed", String(b === button));
  });

  /* From outside the screen: a moment's link, a maneuver's link, a limit taken from the cursor, an earlier attempt */
  document.addEventListener("click", (e) => {
    const moment = e.target.closest("[data-go]"), link = e.target.closest('a[href^="#m"]');
    if (moment) {
      const s = Number(moment.dataset.go), k = episodes.findIndex((o) => o.start <= s && s <= o.end && !o.plain);
      e.preventDefault();
      choose(k >= 0 ? k : episodes.findIndex((o) => o.start <= s && s <= o.end));
      go(s);
    } else if (link) { choose(Number(link.getAttribute("href").slice(2)) - 1, { move: true }); }
  });
  for (const input of document.querySelectorAll("input[data-moment]")) {
    const take = put(document.createDocumentFragment(), "button", "plain take", "cursor");
    take.type = "button";
    take.setAttribute("aria-label", `take the cursor's moment for "${input.name}"`);
    take.addEventListener("click", () => { input.value = `${Math.floor(now / 60)}:${(now % 60).toFixed(1).padStart(4, "0")}`; });
    input.parentElement.after(take);
  }
  document.addEventListener("airwork:earlier", (e) => { loaded = e.detail; paint(); go(now); });
  document.addEventListener("airwork:play", (e) => { if (e.detail) start(); else stop(); });
  document.addEventListener("airwork:seek", (e) => { go(e.detail); });

  const dark = matchMedia("(prefers-color-scheme: dark)");
  dark.addEventListener("change", () => { panel.refresh(); paint(); go(now); });
  new ResizeObserver(() => { panel.fit(); go(now); }).observe(canvas);
  new ResizeObserver(() => { airworkPlots.fit("live"); go(now); }).observe(live);

  /* What is looked at first: the moment of the thing to fix, else the first maneuver that was not held. */
  const begin = () => {
    const asked = /^#m(\d+)$/.exec(location.hash), s = data.start;
    const moment = s === null || s === undefined ? -1 : episodes.findIndex((o) => !o.plain && o.start <= s && s <= o.end);
    const out = episodes.findIndex((o) => o.mark === "out" && !o.plain), worth = episodes.findIndex((o) => !o.plain);
    const k = asked ? Number(asked[1]) - 1 : moment >= 0 ? moment : out >= 0 ? out : worth;
    choose(k);
    go(!asked && moment >= 0 ? s : episodes[k] ? episodes[k].start : 0);
    const part = asked && $(`m${asked[1]}`), refused = part?.querySelector(".problem");
    if (part) (refused || part).scrollIntoView({ block: refused ? "center" : "start" });
    else if (document.activeElement === document.body) section.focus({ preventScroll: true });
  };
  begin();
  const inline = $("map-data");
  const arrived = inline ? Promise.resolve(JSON.parse(inline.textContent)) : fetch(section.dataset.map).then((got) => got.ok ? got.json() : Promise.reject(new Error(got.status)));
  arrived.then(lay).catch((problem) => { console.error(problem); holder.textContent = "The map could not be loaded."; });
})();
