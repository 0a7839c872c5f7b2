// Listens to the followed flight and shows it; speaks the calls; sends what is tapped. Computes nothing.
"use strict";
const at = (id) => document.getElementById(id);
const say = (what, data) => fetch("say/" + what, { method: "POST", body: JSON.stringify(data), keepalive: true }).catch(() => {});
let heard = Date.now(), spoken = new Set(), first = true, silenced = [];
window.latencies = [];

function item(n) {
  const box = document.createElement("div");
  box.className = "number " + n.level;
  for (const [tag, text] of [["span", n.label], ["b", n.text], ["small", n.why]]) {
    const part = document.createElement(tag);
    part.textContent = text;
    box.append(part);
  }
  return box;
}

function list(id, lines) {
  at(id).replaceChildren(...lines.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
}

let shownLeft = "";
function left(exercises) {  /* redrawn only where it changed: a button must not vanish under the finger */
  const now = JSON.stringify(exercises);
  if (now === shownLeft) return;
  shownLeft = now;
  at("left").replaceChildren(...exercises.map(([place, title], k) => {
    const line = document.createElement("li"), button = document.createElement("button");
    button.textContent = title;
    button.setAttribute("aria-pressed", k === 0);
    button.onclick = () => say("next", { exercise: place });
    line.append(button);
    return line;
  }));
}

function speak(call) {
  if (at("sound").getAttribute("aria-pressed") !== "true" || !window.speechSynthesis) return;
  const words = new SpeechSynthesisUtterance(call.text);
  words.lang = "en";
  if (["speed", "fuel", "data"].includes(call.key)) window.speechSynthesis.cancel();
  window.speechSynthesis.speak(words);
}

function screen(s) {
  at("clock").textContent = s.clock;
  at("state").textContent = s.state + (s.sure ? " " + s.sure : "");
  at("title").textContent = s.title;
  at("line").textContent = s.line;
  at("numbers").replaceChildren(...s.numbers.map(item));
  at("more").replaceChildren(...s.more.flatMap((n) => [
    Object.assign(document.createElement("dt"), { textContent: n.label }),
    Object.assign(document.createElement("dd"), { textContent: n.text + (n.why ? " (" + n.why + ")" : "") }),
  ]));
  list("steps", s.steps);
  left(s.left);
  list("ended", s.ended.map((t) => t.title + ": " + (t.verdict || "not judged") + (t.missed ? ": " + t.missed : "")));
  const last = s.said[s.said.length - 1];
  const shown = last && last.key !== "next";  /* it stands above, or another is in hand by now */
  at("said").textContent = shown ? "“" + last.text + "”" : "";
  for (const call of s.said) {
    const key = call.at_s + call.text;
    if (!spoken.has(key)) { spoken.add(key); if (!first) speak(call); }
  }
  first = false;
  at("data").textContent = s.data.join(" · ");
  document.body.classList.toggle("gray", s.gray);
  at("sources").textContent = Object.entries(s.ages).map(([name, age]) => name + " " + age + " s ago").join(", ") + " · " + s.recorded + " rows recorded · " + s.marks + " marks";
  at("caution").textContent = s.caution;
  silenced = s.silenced;
  for (const button of at("calls").querySelectorAll("button")) button.setAttribute("aria-pressed", silenced.includes(button.dataset.call));
}

function dials(d) {
  const shown = Object.entries(d).filter(([name, v]) => !["at", "sent"].includes(name) && v !== null);
  at("dials").textContent = shown.map(([name, v]) => name.replace("_", " ") + " " + v).join(" · ");
  if (d.sent) window.latencies.push(Date.now() - 1000 * d.sent);
  if (window.latencies.length > 5000) window.latencies.splice(0, 1000);
}

function calls(all) {
  at("calls").replaceChildren(...Object.entries(all).map(([name, why]) => {
    const line = document.createElement("li"), button = document.createElement("button");
    button.textContent = name;
    button.dataset.call = name;
    button.setAttribute("aria-pressed", "false");
    button.onclick = () => say("silence", { call: name, silent: button.getAttribute("aria-pressed") !== "true" });
    line.append(button, " " + why);
    return line;
  }));
}

const stream = new EventSource("events");
const hear = (name, what) => stream.addEventListener(name, (event) => { heard = Date.now(); what(JSON.parse(event.data)); });
hear("screen", screen);
hear("dials", dials);
hear("calls", calls);
hear("over", () => { stream.close(); at("data").textContent = "The flight has ended; the debrief is at the terminal."; });
setInterval(() => {  // the server itself gone: said at once, everything gray
  const silent = Math.round((Date.now() - heard) / 1000);
  if (silent >= 3 && stream.readyState !== 2) { document.body.classList.add("gray"); at("data").textContent = "No word from airwork for " + silent + " s"; }
}, 500);

const press = (id, on) => at(id).setAttribute("aria-pressed", on);
at("sound").onclick = () => press("sound", at("sound").getAttribute("aria-pressed") !== "true");
at("night").onclick = () => press("night", document.body.classList.toggle("night"));
press("night", document.body.classList.contains("night"));
for (const button of at("marks").children) {
  const label = button.textContent;
  button.onclick = () => { say("mark", { words: button.dataset.words }); button.textContent = "marked"; setTimeout(() => { button.textContent = label; }, 1500); };
}
let watching = null;
at("own").onclick = () => {
  if (watching !== null) { navigator.geolocation.clearWatch(watching); watching = null; press("own", false); return; }
  if (!navigator.geolocation) { at("data").textContent = "This browser knows no position."; return; }
  watching = navigator.geolocation.watchPosition(
    (found) => { const c = found.coords; say("position", { latitude: c.latitude, longitude: c.longitude, altitude: c.altitude, speed: c.speed, heading: c.heading }); },
    (problem) => { at("data").textContent = "No position from this device: " + problem.message; press("own", false); watching = null; },
    { enableHighAccuracy: true, maximumAge: 1000 });
  press("own", true);
};
