/* Draws each maneuver's plots when it comes into view and ties the cursor to the map. */
"use strict";
(() => {
  const data = JSON.parse(document.getElementById("flight-data").textContent);
  const here = document.getElementById("here");
  const move = (t, from) => {
    if (from !== "page") document.dispatchEvent(new CustomEvent("airwork:moment", { detail: t }));
    if (!here || !data.series.x) return;
    let i = 0, j = data.series.t.length - 1;
    while (i < j) { const m = (i + j) >> 1; if (data.series.t[m] < t) i = m + 1; else j = m; }
    const x = data.series.x[i], y = data.series.y[i];
    if (x === null) return;
    here.setAttribute("cx", x); here.setAttribute("cy", y); here.removeAttribute("visibility");
  };
  /* A page around the report moves the cursor too: map and every drawn plot follow. */
  document.addEventListener("airwork:go", (e) => { move(e.detail, "page"); airworkPlots.go(e.detail); });
  const slice = (episode, column) => {
    const t = data.series.t, out = [[], []];
    for (let i = 0; i < t.length; i++) if (t[i] >= episode.from && t[i] <= episode.to) {
      out[0].push(t[i]); out[1].push(data.series[column][i]);
    }
    return out;
  };
  const laid = (ideal, times, column) => {
    if (!ideal || !ideal[column]) return null;
    let k = 0;
    return times.map((t) => {
      if (t < ideal.t[0] || t > ideal.t[ideal.t.length - 1]) return null;
      if (k && t < ideal.t[k]) k = 0;
      while (k < ideal.t.length - 2 && ideal.t[k + 1] < t) k++;
      const span = ideal.t[k + 1] - ideal.t[k] || 1, f = (t - ideal.t[k]) / span;
      if (ideal[column][k] === null || ideal[column][k + 1] === null) return null;  // between two pylons
      return ideal[column][k] + f * (ideal[column][k + 1] - ideal[column][k]);
    });
  };
  const open = (section) => {
    const episode = data.episodes[Number(section.dataset.episode)];
    for (const holder of section.querySelectorAll(".plot")) {
      const column = holder.dataset.column;
      const [t, flown] = slice(episode, column);
      airworkPlots.draw(holder, {
        t, flown, unit: holder.dataset.unit, room: Number(holder.dataset.room), compass: column === "heading", group: `episode-${section.dataset.episode}`,
        bands: (episode.bands || {})[column] || [], ideal: laid(episode.ideal, t, column),
      }, move);
    }
  };
  const all = [...document.querySelectorAll("section.episode")];
  const pending = new Set(all);
  const watch = new IntersectionObserver((entries) => {
    for (const e of entries) if (e.isIntersecting && pending.delete(e.target)) { open(e.target); watch.unobserve(e.target); }
  }, { rootMargin: "400px" });
  all.forEach((s) => watch.observe(s));
  window.addEventListener("beforeprint", () => { for (const s of pending) open(s); pending.clear(); });
})();
