/* This attempt beside an earlier one of the same kind: of the same flight, or of the student's logbook. Laid over one
   another where the first turn begins; what got better or worse is said in a sentence. */
"use strict";
(() => {
  const line = document.getElementById("beside"), other = document.getElementById("other"), said = document.getElementById("better");
  if (!line) return;
  let asked = 0, choices = [], judged = [];
  const RANK = { held: 0, "briefly out and corrected": 1, "not held": 2 }, NEWS = .25;  // of the earlier excess: less is no difference
  const better = (then, now) => {
    const was = new Map(then.map((c) => [c[0], c])), off = now.filter((c) => RANK[c[3]]).sort((a, b) => RANK[b[3]] - RANK[a[3]] || b[2] - a[2]);
    const moved = now.filter(([name]) => was.has(name)).map((c) => {
      const [, , ratio, verdict] = was.get(c[0]), step = RANK[verdict] - RANK[c[3]], less = ratio - c[2];
      return { c, words: `${c[0]} ${was.get(c[0])[1]} → ${c[1]}`, way: step || (RANK[verdict] && Math.abs(less) > NEWS * ratio ? less : 0) };
    });
    const good = moved.filter((m) => m.way > 0).sort((a, b) => b.way - a.way), bad = moved.filter((m) => m.way < 0).sort((a, b) => a.way - b.way);
    const left = off[0] && !bad.some((m) => m.c === off[0]) ? good.some((m) => m.c === off[0]) ? `Still the thing: ${off[0][0]}.` : `Now the thing: ${off[0][0]} ${off[0][1]}.` : "";
    const sentences = [good.length && `Better: ${good.map((m) => m.words).join(", ")}.`, bad.length && `Worse: ${bad.map((m) => m.words).join(", ")}.`, left].filter(Boolean);
    return !moved.length ? "" : good.length || bad.length ? sentences.join(" ") : `No better and no worse in what was judged. ${left}`.trim();
  };
  const give = (found) => {
    const words = said.textContent = found ? better(found.judged || [], judged) : "";
    said.hidden = !words;
    document.dispatchEvent(new CustomEvent("airwork:earlier", { detail: found }));
  };
  const put = (words, value) => { const o = document.createElement("option"); o.textContent = words; o.value = String(value); other.append(o); };
  const list = () => {
    other.replaceChildren();
    put("no other attempt", -1);
    choices.forEach((c, k) => put(c.words, k));
    line.hidden = !choices.length;
  };
  document.addEventListener("airwork:chosen", async ({ detail: { chosen, data } }) => {
    const mine = ++asked, { episodes, series } = data, one = episodes[chosen];
    choices = []; judged = one?.judged || []; said.hidden = true;
    if (one) for (const e of episodes) if (e !== one && e.kind === one.kind && e.start < one.start) {
      choices.unshift({ words: `${e.number}, at ${airworkPlots.clock(e.start)}${e.worst ? `: ${e.sign} ${e.worst}` : ""}`, roll: e.roll, judged: e.judged,
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
    if (c.cut) { give({ series: c.cut(), roll: c.roll, words: c.words, judged: c.judged }); return; }
    const got = await fetch(c.at, { headers: { accept: "application/json" } });
    if (got.ok) give({ ...await got.json(), words: c.words, judged: c.judged, elsewhere: true });
  });
})();
