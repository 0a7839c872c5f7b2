/* Draws the plots below the screen: of each maneuver when it comes into view, of all of them for paper. */
"use strict";
(() => {
  const data = JSON.parse(document.getElementById("flight-data").textContent);
  const move = (t) => document.dispatchEvent(new CustomEvent("airwork:moment", { detail: t }));
  const open = (section) => {
    const episode = data.episodes[Number(section.dataset.episode)];
    for (const holder of section.querySelectorAll(".plot")) {
      const column = holder.dataset.column, { slice, laid, draw } = airworkPlots;
      const [t, flown] = slice(data.series, column, episode.from, episode.to);
      draw(holder, {
        t, flown, unit: data.plots[column].unit, room: data.plots[column].room, compass: column === "heading",
        group: `episode-${section.dataset.episode}`, limits: [episode.start, episode.end],
        bands: episode.bands[column] || [], ideal: laid(episode.ideal, t, column),
      }, move);
    }
  };
  const all = [...document.querySelectorAll("section.episode")];
  const pending = new Set(all);
  const watch = new IntersectionObserver((entries) => {
    for (const e of entries) if (e.isIntersecting && pending.delete(e.target)) { open(e.target); watch.unobserve(e.target); }
  }, { rootMargin: "200px" });
  all.forEach((s) => watch.observe(s));
  if (matchMedia("(max-width: 640px)").matches) for (const part of document.querySelectorAll("details.whole")) part.open = false;
  let opened = [];  // for paper: the evidence, and the numbers and plots of what is more than passing
  window.addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("details.whole, details.evidence, .episode:not(.plain) > details.all")].filter((d) => !d.open);
    for (const d of opened) d.open = true;
    for (const s of pending) if (!s.classList.contains("plain")) { open(s); pending.delete(s); }
  });
  window.addEventListener("afterprint", () => { for (const d of opened) d.open = false; });
})();
