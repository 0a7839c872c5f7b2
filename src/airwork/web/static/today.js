/* Live numbers: every change of the form is asked of the server, which asks the same core, and shown at once. */
"use strict";
(() => {
  const form = document.getElementById("lesson-form"), numbers = document.getElementById("numbers");
  const holder = document.getElementById("path-map"), query = document.getElementById("save-query");
  const lesson = form.elements.namedItem("lesson").value, typed = window.airworkTyped;
  let map = null, layer = null, asked = 0, numbersOf = "", timer = 0, running = null, good = null;

  const draw = (data) => {
    holder.hidden = !data;
    if (!data) return;
    const bounds = L.latLngBounds([data.home.at, ...data.area, ...data.places.map((p) => p.at), ...data.paths.flatMap((p) => p.points)]);
    if (map === null) { map = airworkMap.make(holder, {}, bounds.pad(.05)); airworkMap.fetchAround(map, bounds); airworkMap.own(map); }
    if (layer) layer.remove();
    map.invalidateSize();
    if (!map.getBounds().contains(bounds)) map.fitBounds(bounds.pad(.05));  // a map one points on stays where it is
    layer = L.layerGroup().addTo(map);
    const taken = [];
    map.words = [];
    const label = (at, text, kind) => airworkMap.label(layer, map, at, text, kind, taken);
    airworkMap.area(layer, data.area);
    label(data.home.at, data.home.name.split(" ")[0], "home");
    L.circleMarker(data.home.at, { radius: 4, color: airworkMap.css("--ink"), weight: 2, fill: false, interactive: false }).addTo(layer);
    const way = [data.home.at];
    for (const path of data.paths) {
      L.polyline(path.points, { color: airworkMap.css("--accent"), weight: 2.5, smoothFactor: .3 }).bindTooltip(airworkMap.word(`${path.number} ${path.title}`)).addTo(layer);
      L.circleMarker(path.points[0], { radius: 3, color: airworkMap.css("--accent"), fillOpacity: 1, interactive: false }).addTo(layer);
      label(path.points[0], String(path.number), "number");
      way.push(path.points[0], path.points[path.points.length - 1]);
    }
    for (const place of data.places) {
      L.circleMarker(place.at, { radius: 3, color: airworkMap.css("--soft"), weight: 1.5, interactive: false }).addTo(layer);
      label(place.at, place.name, "soft");
    }
    for (let i = 0; i + 1 < way.length; i += 2) L.polyline([way[i], way[i + 1]], { color: airworkMap.css("--soft"), weight: 1, dashArray: "3 5", interactive: false }).addTo(layer);
    document.dispatchEvent(new CustomEvent("airwork:map", { detail: { map, data, form } }));
  };

  /* The verdict in a word stays in sight while one types further down; of half a value there is none. */
  const word = () => {
    const now = numbers.querySelector(":scope > .verdict"), at = document.getElementById("word");
    at.className = `word ${now ? now.className.replace("verdict", "") : ""}`;
    at.textContent = now ? now.querySelector("strong").textContent : "no verdict yet";
  };
  new MutationObserver(word).observe(numbers, { childList: true });
  new MutationObserver(word).observe(form, { childList: true });
  word();
  const show = (answer, at) => {
    const more = document.getElementById("more");
    const open = [...more.querySelectorAll("details[open] > summary")].map((s) => s.textContent);
    if (!answer.problem) good = answer;
    numbers.innerHTML = answer.html;  // our own template's, escaped there
    more.innerHTML = answer.more;
    if (answer.problem && good) {  // the last good numbers stay in sight, grey: they are not of what stands in the form
      const stale = document.createElement("div");
      stale.className = "stale"; stale.inert = true;
      stale.innerHTML = `<p class="soft">before this change:</p>${good.html}`;
      numbers.append(stale);
    }
    for (const s of more.querySelectorAll("details > summary")) if (open.includes(s.textContent)) s.parentElement.open = true;
    for (const old of form.querySelectorAll(".here")) old.remove();
    for (const input of form.querySelectorAll("input[name]:not([type=hidden]), select[name], textarea[name]")) {
      const wrong = input.name in answer.at;
      if (wrong) {  // in words where it arises, too
        const said = document.createElement("p");
        said.className = "said here"; said.textContent = answer.at[input.name];
        (input.closest("label, .aboard") || input).after(said);
      }
      input.toggleAttribute("aria-invalid", wrong);
      if (wrong) { input.setAttribute("aria-invalid", "true"); input.setAttribute("aria-describedby", "problem"); } else input.removeAttribute("aria-describedby");
      input.closest("label")?.classList.toggle("changed", input.value.trim() !== (input.defaultValue || "").trim() || input.closest("label").dataset.was === "1");
    }
    history.replaceState(null, "", `/?${at}`);
    numbersOf = at;
    for (const [name, words] of Object.entries(answer.given)) { const input = form.elements.namedItem(name); if (input) input.placeholder = words; }
    document.dispatchEvent(new Event("airwork:shown"));
    if (query) query.value = at;
    if (answer.changed) typed.keep(lesson, at); else typed.drop(lesson);
    if (answer.map || !answer.problem) draw(answer.map);
  };

  /* The form as an address; what a button would add is no part of it. */
  const state = () => new URLSearchParams([...new FormData(form)].filter(([name]) => !name.startsWith("new/")));

  /* A row added, moved or taken out: the server's own form for the new address takes the place of this one. */
  const press = (button) => {
    const at = new URLSearchParams([...new FormData(form)]);
    if (button.value && button.name === "do") at.set("do", button.value);
    return renew(at, button);
  };
  const renew = async (at, button) => {
    const mine = ++asked;
    if (running) running.abort();
    numbers.setAttribute("aria-busy", "true");
    try {
      const got = await fetch(`/?${at}`);
      const page = new DOMParser().parseFromString(await got.text(), "text/html"), fresh = page.getElementById("lesson-form");
      if (mine !== asked) return;
      if (!fresh) throw new Error(page.querySelector("main")?.textContent.trim() || got.status);
      const rows = new Set([...form.querySelectorAll("[data-row]")].map((r) => r.dataset.row));
      const typing = button?.matches("input") && form.contains(document.activeElement) && document.activeElement;  // in the next field by now
      form.replaceChildren(...fresh.childNodes);
      for (const label of form.querySelectorAll("label.changed")) label.dataset.was = "1";
      for (const id of ["numbers", "more"]) document.getElementById(id).replaceChildren(...page.getElementById(id).childNodes);
      history.replaceState(null, "", new URL(got.url).search || `/?${state()}`);
      numbersOf = state().toString();
      if (query) query.value = numbersOf;
      typed.keep(lesson, numbersOf);
      draw(JSON.parse(page.getElementById("map-data").textContent));
      document.dispatchEvent(new Event("airwork:shown"));
      if (typing && form.elements[typing.name]) { const now = form.elements[typing.name]; if (typing.value !== typing.defaultValue) now.value = typing.value; now.focus(); return; }
      if (!button || button.matches("input")) return;
      const row = [...form.querySelectorAll("[data-row]")].find((r) => !rows.has(r.dataset.row));
      const same = button.id ? document.getElementById(button.id) : form.querySelector(`button[value="${CSS.escape(button.value)}"]:not(:disabled)`);
      (form.querySelector("[aria-invalid]") || (row && row.querySelector("input:not([type=hidden])")) || same || form.querySelector("[name='new/exercises']")).focus();
    } catch (problem) {
      const p = document.createElement("p");
      p.className = "problem"; p.setAttribute("role", "alert");
      p.textContent = `No answer from the server: ${problem.message}`;
      numbers.prepend(p);
    } finally {
      if (mine === asked) numbers.setAttribute("aria-busy", "false");
    }
  };

  const ask = async () => {
    const mine = ++asked, at = state().toString();
    if (running) running.abort();
    running = new AbortController();
    numbers.setAttribute("aria-busy", "true");
    try {
      const got = await fetch(`/today/numbers.json?${at}`, { headers: { accept: "application/json" }, signal: running.signal });
      const answer = await got.json();
      if (mine !== asked) return;
      if (!got.ok) throw new Error(answer.error);
      show(answer, at);
    } catch (problem) {
      if (problem.name === "AbortError" || mine !== asked) return;
      const p = document.createElement("p"), old = document.createElement("div");
      p.className = "problem"; p.setAttribute("role", "alert");
      p.textContent = `No answer from the server: ${problem.message}. The numbers are of before this change.`;
      old.className = "stale"; old.inert = true;
      old.append(...(numbers.querySelector(":scope > .stale") || numbers).childNodes);
      numbers.replaceChildren(p, old);
    } finally {
      if (mine === asked) numbers.setAttribute("aria-busy", "false");
    }
  };

  for (const label of form.querySelectorAll("label.changed")) label.dataset.was = "1";
  /* What is printed or written is what stands in the form at the click, whatever answer is still on its way. A link to what
     the numbers are of stays as it is: so it was kept for where there is no network. */
  numbers.addEventListener("click", (e) => {
    const link = e.target.closest("a[href^='/today/card.pdf'], a[href^='/chair']");
    if (link && state().toString() !== numbersOf) link.href = `${link.pathname}?${state()}`;
  });
  document.querySelector("form.save")?.addEventListener("submit", () => { query.value = state().toString(); typed.drop(lesson); });
  form.addEventListener("click", (e) => { if (e.target.id === "as-in-file") typed.drop(lesson); });
  document.querySelector("form[action='/lessons/take-out']")?.addEventListener("submit", () => typed.drop(lesson, true));
  numbersOf = state().toString();
  if (!document.getElementById("problem")) good = { html: numbers.innerHTML };
  /* What if: the sliders ask beside the lesson, which stays as it is. */
  const sliders = document.getElementById("what-if"), named = [...sliders.querySelectorAll("[name]")];
  let whatIf = 0;
  const compare = async () => {
    const mine = ++whatIf, at = state();
    for (const one of named) {
      at.set(one.name, one.value);
      if (one.type === "range") { const said = `${Number(one.value) > 0 ? "+" : ""}${one.value} ${one.dataset.unit}`; one.previousElementSibling.textContent = said; one.setAttribute("aria-valuetext", said); }
    }
    const got = await fetch(`/today/what-if?${at}`).catch(() => null);
    if (got && got.ok && mine === whatIf) document.getElementById("what-if-shown").innerHTML = await got.text();
  };
  let comparing = 0;
  const soon = () => { clearTimeout(comparing); comparing = setTimeout(compare, 120); };
  for (const one of named) one.addEventListener("input", (e) => { e.stopPropagation(); soon(); });
  document.getElementById("what-if-none").addEventListener("click", () => { for (const one of named) if (one.type === "range") one.value = 0; compare(); });

  /* One report pasted into either field goes where it belongs. */
  form.addEventListener("paste", (e) => {
    const text = e.clipboardData.getData("text").trim(), to = /^TAF\b/.test(text) ? "weather/taf" : /^(METAR|SPECI)\b/.test(text) ? "weather/metar" : "";
    const at = e.target.name || "", into = to && form.elements.namedItem(to);
    if (!into || at === to || !at.startsWith("weather/")) return;
    e.preventDefault();
    into.value = text; into.focus();
    into.dispatchEvent(new Event("input", { bubbles: true }));
  });
  form.addEventListener("input", (e) => {
    if (e.target.name?.startsWith("new/")) return;  // chosen to be added, not yet there
    typed.keep(lesson, state().toString());  // at once: the answer may come when one has gone on
    if (e.target.id === "which-airplane") { clearTimeout(timer); press(e.target); return; }  // other tanks, other seats
    clearTimeout(timer);
    timer = setTimeout(ask, 150);
  });
  form.addEventListener("change", (e) => { if (/^people\/\d+\/name$/.test(e.target.name)) { clearTimeout(timer); press(e.target); } });  // another person, other limits
  form.addEventListener("submit", (e) => { e.preventDefault(); clearTimeout(timer); if (e.submitter?.name === "do") press(e.submitter); else ask(); });
  form.addEventListener("keydown", (e) => {  // arrows step the number in a value, as a slider would: 24 °C, 148 lb
    if ((e.key !== "ArrowUp" && e.key !== "ArrowDown") || e.target.tagName !== "INPUT") return;
    const found = /^(\s*[−-]?)([\d,]*\.?\d+)(.*)$/.exec(e.target.value);
    if (!found || /[/:]/.test(e.target.value) || /^\d{4}-/.test(e.target.value)) return;
    const number = Number(found[2].replace(/,/g, "")) * (found[1].trim() ? -1 : 1);
    const digits = (found[2].split(".")[1] || "").length;
    const size = digits ? 10 ** -digits : Math.abs(number) >= 1000 ? 100 : 1;
    const next = number + (e.key === "ArrowUp" ? 1 : -1) * size * (e.shiftKey ? 10 : 1);
    e.target.value = `${next < 0 ? "-" : ""}${Math.abs(next).toLocaleString("en-US", { minimumFractionDigits: digits, maximumFractionDigits: digits })}${found[3]}`;
    e.preventDefault();
    form.dispatchEvent(new Event("input"));
  });
  draw(JSON.parse(document.getElementById("map-data").textContent));
  const plain = location.pathname === "/" && [...new URLSearchParams(location.search).keys()].every((name) => name === "lesson");
  if (plain && typed.of(lesson)) renew(new URLSearchParams(typed.of(lesson)));
  else if ("changed" in form.dataset) typed.keep(lesson, numbersOf);
  else if (location.search) typed.looked(lesson);
})();
