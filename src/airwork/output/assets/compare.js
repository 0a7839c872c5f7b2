/* This attempt beside an earlier one of the same kind: of the same flight, or of the student's logbook. Laid over one
   another where the first turn begins. */
"use strict";
(() => {
  const line = document.getElementById("beside"), other = document.getElementById("other");
  if (!line) return;
  let asked = 0, choices = [];
  const give = (found) => document.dispatchEvent(new CustomEvent("airwork:earlier", { detail: found }));
  const put = (words, value) => { const o = document.createElement("option"); o.textContent = words; o.value = String(value); other.append(o); };
  const list = () => {
    other.replaceChildren();
    put("no other attempt", -1);
    choices.forEach((c, k) => put(c.words, k));
    line.hidden = !choices.length;
  };
  document.addEventListener("airwork:chosen", async ({ detail: { chosen, data } }) => {
    const mine = ++asked, { episodes, series } = data, one = episodes[chosen];
    choices = [];
    if (one) for (const e of episodes) if (e !== one && e.kind === one.kind && e.start < one.start) {
      choices.unshift({ words: `${e.number}, at ${airworkPlots.clock(e.start)}${e.worst ? `: ${e.sign} ${e.worst}` : ""}`, roll: e.roll,
        cut: () => {  // with its positions, once the map is there
          const size = series.t.length, spread = (list) => list.flatMap(([from, v], n) => Array((list[n + 1]?.[0] ?? size) - from).fill(v));
          const held = Object.fromEntries(Object.entries(data.seldom).map(([name, list]) => [name, spread(list)]));
          const whole = { ...series, ...held, ...(data.map?.lat.length ? { lat: data.map.lat, lon: data.map.lon } : {}) };
          return Object.fromEntries(Object.entries(whole).filter(([, v]) => Array.isArray(v)).map(([name]) => [name, airworkPlots.slice(whole, name, e.from, e.to)[1]]));
        } });
    }
    list();
    if (!one || one.plain || !line.dataset.earlier) return;
    try {
      const got = await fetch(`${line.dataset.earlier}?kind=${encodeURIComponent(one.kind)}`, { headers: { accept: "application/json" } });
      const found = got.ok ? await got.json() : [];
      if (mine !== asked) return;
      choices.push(...found);
      const was = other.value;
      list();
      other.value = was;
    } catch (problem) { console.warn(problem); }
  });
  other.addEventListener("change", async () => {
    const c = choices[Number(other.value)];
    if (!c) { give(null); return; }
    if (c.cut) { give({ series: c.cut(), roll: c.roll, words: c.words }); return; }
    const got = await fetch(c.at, { headers: { accept: "application/json" } });
    if (got.ok) give({ ...await got.json(), words: c.words, elsewhere: true });
  });
})();
