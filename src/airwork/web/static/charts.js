/* Charts to point at: a thumb or the arrow keys read every curve at one place. The drawing without a script is replaced. */
"use strict";
(() => {
  const all = JSON.parse(document.getElementById("chart-data").textContent);
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const tones = ["--ink", "--accent", "--out", "--held", "--brief", "--soft"], dashes = [[], [7, 4], [2, 3], [10, 3, 2, 3]];
  const draw = (figure) => {
    const chart = all[figure.dataset.chart], plain = figure.querySelector(".plain");
    const holder = document.createElement("div");
    holder.className = "live"; holder.tabIndex = 0;
    holder.setAttribute("role", "application");
    holder.setAttribute("aria-label", `${figure.querySelector("figcaption").textContent}: left and right arrows move along ${chart.xName}`);
    plain.replaceWith(holder);
    const say = document.createElement("p");
    say.className = "sr"; say.setAttribute("aria-live", "polite");
    holder.after(say);
    const width = () => Math.max(260, figure.clientWidth - 8);
    const series = [{ label: chart.xName, value: (u, v) => v === null ? "" : String(v) },
      ...chart.curves.map((c, k) => ({ label: c.name, stroke: css(tones[k % 6]), dash: dashes[k % 4], width: 1.6, points: { show: false }, spanGaps: false,
        value: (u, v) => v === null ? "–" : String(v) }))];
    const axis = { stroke: css("--soft"), grid: { stroke: css("--line"), width: .5 }, ticks: { stroke: css("--line") } };
    const plot = new uPlot({ width: width(), height: 260, legend: { live: true, markers: { width: 3, dash: (u, k) => ["solid", "dashed", "dotted", "double"][(k - 1) % 4] } }, scales: { x: { time: false } },
      cursor: { points: { size: 7 }, drag: { x: false, y: false } },
      axes: [{ ...axis, label: chart.xName, labelSize: 18, size: 34 }, { ...axis, label: chart.yName, labelSize: 18, size: 52 }], series },
    [chart.x, ...chart.curves.map((c) => c.y)], holder);
    new ResizeObserver(() => plot.setSize({ width: width(), height: 260 })).observe(figure);
    let at = Math.floor(chart.x.length / 2);
    const go = (k) => {
      at = Math.max(0, Math.min(chart.x.length - 1, k));
      plot.setCursor({ left: plot.valToPos(chart.x[at], "x"), top: 20 });
      say.textContent = `${chart.xName} ${chart.x[at]}: ${chart.curves.filter((c) => c.y[at] !== null).map((c) => `${c.name} ${c.y[at]}`).join(", ") || "nothing printed"}`;
    };
    holder.addEventListener("keydown", (e) => {
      const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: 5, PageDown: -5 }[e.key];
      if (step) { e.preventDefault(); go(at + step); }
      if (e.key === "Home" || e.key === "End") { e.preventDefault(); go(e.key === "Home" ? 0 : chart.x.length - 1); }
    });
  };
  const watch = new IntersectionObserver((entries) => {
    for (const e of entries) if (e.isIntersecting) { watch.unobserve(e.target); draw(e.target); }
  }, { rootMargin: "300px" });
  document.querySelectorAll("figure[data-chart]").forEach((f) => watch.observe(f));
})();
