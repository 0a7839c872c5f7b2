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
  /* Who comes next in this window finds nothing of what another typed; a session that merely ended keeps it. */
  const nav = document.querySelector("nav"), who = document.querySelector("form.who span")?.textContent || "", sent = sessionStorage.getItem("airwork-sent");
  const forget = () => { for (const name of Object.keys(sessionStorage)) if (/^airwork-(typed|form |sent)/.test(name)) sessionStorage.removeItem(name); };
  if (nav && (sessionStorage.getItem("airwork-whose") ?? who) !== who) forget();
  if (nav) sessionStorage.setItem("airwork-whose", who);
  document.querySelector("form.who")?.addEventListener("submit", forget);
  if (nav && sent && !document.querySelector(`form[data-typed]`)) { sessionStorage.removeItem(sent); sessionStorage.removeItem("airwork-sent"); }
  /* A form half filled is there again after a reload, or when one comes back to it in this window. */
  for (const form of document.querySelectorAll("form[data-typed]")) {
    const name = `airwork-form ${form.dataset.typed}`, each = [...form.elements].filter((e) => e.name && e.type !== "hidden");
    const now = () => each.map((e) => [e.name, e.type === "checkbox" || e.type === "radio" ? (e.checked ? e.value : null) : e.value]);
    const fresh = JSON.stringify(now()), before = sessionStorage.getItem(name);
    if (before && before !== fresh && !document.querySelector("main [role=alert]")) {
      const left = JSON.parse(before);
      for (const e of each) {
        const at = left.findIndex(([other]) => other === e.name);  // of several of one name in their order
        if (at < 0) continue;
        const [[, value]] = left.splice(at, 1);
        if (e.type === "checkbox" || e.type === "radio") e.checked = value === e.value; else e.value = value;
      }
      const said = document.createElement("p"), no = document.createElement("button");
      said.className = "ask"; said.setAttribute("role", "status"); said.textContent = "As you had typed it here; it is not entered yet. ";
      no.type = "button"; no.className = "plain"; no.textContent = "begin anew";
      no.addEventListener("click", () => { sessionStorage.removeItem(name); form.reset(); said.remove(); });
      said.append(no); form.before(said);
    }
    form.addEventListener("input", () => sessionStorage.setItem(name, JSON.stringify(now())));
    form.addEventListener("submit", () => sessionStorage.setItem("airwork-sent", name));  // it goes once it is taken: below
  }
  reach();
  window.addEventListener("resize", reach);
  document.addEventListener("toggle", reach, true);
  document.addEventListener("airwork:shown", reach);
  /* What is typed into a lesson and not saved yet is there again however one comes back to it; gone with the log-in.
     last: the lesson looked at last; of: what is typed, by lesson. */
  const menu = document.querySelector("nav a[href='/']"), kept = JSON.parse(sessionStorage.getItem("airwork-typed") || '{"last": "", "of": {}}');
  const store = () => sessionStorage.setItem("airwork-typed", JSON.stringify(kept));
  window.airworkTyped = {
    of: (lesson) => kept.of[lesson] || "",
    keep: (lesson, state) => { kept.last = lesson; kept.of[lesson] = state; store(); },
    drop: (lesson, gone) => { delete kept.of[lesson]; if (gone && kept.last === lesson) kept.last = ""; store(); },
    looked: (lesson) => { kept.last = lesson; store(); },
  };
  if (menu && location.pathname !== "/" && kept.last) menu.href = `/?${kept.of[kept.last] || new URLSearchParams({ lesson: kept.last })}`;
  for (const link of document.querySelectorAll(".day-lines a[href^='/?']")) {
    if (!kept.of[new URL(link.href).searchParams.get("lesson")]) continue;
    const said = document.createElement("p");
    said.className = "said"; said.textContent = "typed in this window and not saved: not in this verdict";
    link.after(said);
  }
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
    if (when) { say(`No network: this page is as it was at ${new Date(when).toLocaleString("sv-SE").slice(0, 16)}. Changes wait until there is one.`); document.body.classList.add("is-offline"); dispatchEvent(new Event("resize")); return; }  // a map beside the form has more room now
    if (!performance.getEntriesByType("navigation")[0]?.workerStart) tell({ take: [location.pathname + location.search] });  // this page was here before the worker
    const button = document.getElementById("take-along");
    if (button && navigator.serviceWorker.controller) {
      button.hidden = false;
      button.addEventListener("click", async () => {
        const same = [...document.querySelectorAll("select[name=lesson] option[data-today]")].flatMap((o) => [`/?lesson=${encodeURIComponent(o.value)}`, `/today/card.pdf?lesson=${encodeURIComponent(o.value)}`]);
        const date = document.querySelector("#lesson-form [name=date]")?.value, days = ["/day", ...(date ? [`/day?on=${encodeURIComponent(date)}`] : [])];
        const maps = performance.getEntriesByType("resource").map((one) => new URL(one.name)).filter((one) => one.pathname.startsWith("/map/")).map((one) => one.pathname + one.search);  // drawn before the worker was here
        const links = ["/", ...days, ...same, ...maps, location.pathname + location.search, ...[...document.querySelectorAll("a[href^='/today/card.pdf'], a[href^='/chair']")].map((a) => a.getAttribute("href"))];
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
