/* A table wider than the page can be scrolled with the keyboard too. */
"use strict";
(() => {
  const reach = () => {
    for (const box of document.querySelectorAll(".scroll")) {
      if (box.scrollWidth > box.clientWidth) { box.tabIndex = 0; box.setAttribute("role", "group"); box.setAttribute("aria-label", "wide content, scrolls sideways"); }
      else { box.removeAttribute("tabindex"); box.removeAttribute("role"); box.removeAttribute("aria-label"); }
    }
  };
  if (matchMedia("(max-width: 600px)").matches) for (const part of document.querySelectorAll("details.fold")) part.open = false;
  for (const zone of document.querySelectorAll("input[data-zone]")) zone.value ||= Intl.DateTimeFormat().resolvedOptions().timeZone || "";
  for (const button of document.querySelectorAll("[data-copy]")) {
    button.hidden = !navigator.clipboard;
    button.addEventListener("click", async () => { await navigator.clipboard.writeText(button.dataset.copy); button.textContent = "copied"; });
  }
  reach();
  window.addEventListener("resize", reach);
  document.addEventListener("toggle", reach, true);
  document.addEventListener("airwork:shown", reach);
  /* What is typed into a lesson and not saved yet is there again when one comes back by the menu; gone with the log-in. */
  const menu = document.querySelector("nav a[href='/']"), keep = () => { if (location.pathname === "/" && location.search) sessionStorage.setItem("airwork-today", location.search); };
  if (!menu) sessionStorage.removeItem("airwork-today");
  else if (location.pathname !== "/") menu.href = `/${sessionStorage.getItem("airwork-today") || ""}`;
  keep();
  document.addEventListener("airwork:shown", keep);
})();
/* Kept for a cockpit without a network: the worker is asked whether this page came from there, and is given what to keep. */
(() => {
  if (!("serviceWorker" in navigator) || !window.isSecureContext || !document.querySelector("nav")) return;
  const tell = (message) => new Promise((done) => {
    const to = navigator.serviceWorker.controller;
    if (!to) { done(null); return; }
    const channel = new MessageChannel();
    channel.port1.onmessage = (e) => done(e.data);
    to.postMessage(message, [channel.port2]);
  });
  const say = (words) => {
    const p = document.createElement("p");
    p.className = "offline"; p.setAttribute("role", "status"); p.textContent = words;
    document.querySelector("main").prepend(p);
  };
  const begin = async () => {
    const when = await tell({ asks: location.href });
    if (when) { say(`No network: this page is as it was at ${new Date(when).toLocaleString("sv-SE").slice(0, 16)}. Changes wait until there is one.`); document.body.classList.add("is-offline"); return; }
    if (!performance.getEntriesByType("navigation")[0]?.workerStart) tell({ take: [location.pathname + location.search] });  // this page was here before the worker
    const button = document.getElementById("take-along");
    if (button && navigator.serviceWorker.controller) {
      button.hidden = false;
      button.addEventListener("click", async () => {
        const same = [...document.querySelectorAll("select[name=lesson] option[data-today]")].flatMap((o) => [`/?lesson=${encodeURIComponent(o.value)}`, `/today/card.pdf?lesson=${encodeURIComponent(o.value)}`]);
        const date = document.querySelector("#lesson-form [name=date]")?.value, days = ["/day", ...(date ? [`/day?on=${encodeURIComponent(date)}`] : [])];
        const links = ["/", ...days, ...same, location.pathname + location.search, ...[...document.querySelectorAll("a[href^='/today/card.pdf'], a[href^='/chair']")].map((a) => a.getAttribute("href"))];
        button.disabled = true;
        const taken = await tell({ take: [...new Set(links)] });
        button.disabled = false;
        button.textContent = taken ? `taken along: numbers, card, chair${same.length ? `; the day's other ${same.length > 2 ? `${same.length / 2} lessons` : "lesson"}` : ""}` : "nothing could be taken";
      });
    }
    if (location.pathname === "/debriefs") {  // the newest of one's own, with their maps
      const own = [...document.querySelectorAll("main a[href^='/debriefs/']")].map((a) => a.getAttribute("href")).filter((h) => /^\/debriefs\/[0-9a-f]{32}$/.test(h)).slice(0, 3);
      if (own.length) tell({ take: own.flatMap((h) => [h, `${h}/map.json`]) });
    }
  };
  navigator.serviceWorker.register("/sw.js").then(() => navigator.serviceWorker.ready).then(() => {
    if (navigator.serviceWorker.controller) begin(); else navigator.serviceWorker.addEventListener("controllerchange", begin, { once: true });
  }).catch(() => { /* a browser that allows none works as before */ });
})();
/* What an endorsement rests on and the record lacks: of the one that is chosen. */
(() => {
  const lacks = document.getElementById("lacks"), kind = lacks?.closest("form").elements.kind;
  if (!kind) return;
  const show = () => {
    for (const li of lacks.children) { li.hidden = li.dataset.of !== kind.value; li.firstElementChild.hidden = true; }
    lacks.hidden = ![...lacks.children].some((li) => !li.hidden);
  };
  kind.addEventListener("change", show);
  show();
})();
