/* The steps of the lesson as it is flown in the chair: asked for, shown, said; the flight waits for the answer. */
"use strict";
(() => {
  const $ = (id) => document.getElementById(id), source = $("flight-data");
  if (!source || !$("step")) return;
  const { episodes } = JSON.parse(source.textContent);
  const step = $("step"), answer = $("answer"), on = $("go-on"), pause = $("pause"), ask = $("ask"), aloud = $("aloud");
  let shown = "", last = null, waiting = false;

  const say = (words) => {
    if (!aloud.checked || !window.speechSynthesis) return;
    speechSynthesis.cancel();
    const spoken = new SpeechSynthesisUtterance(words);
    spoken.lang = "en-US";
    speechSynthesis.speak(spoken);
  };
  const put = (k, n, words) => {
    const count = document.createElement("span");
    count.className = "count"; count.textContent = n < 0 ? "" : `step ${n + 1} of ${episodes[k].steps.length}`;
    step.replaceChildren(count, words);
  };
  const reveal = (k, n) => { put(k, n, episodes[k].steps[n][1]); answer.hidden = true; on.hidden = !waiting; shown = `${k}/${n}`; if (waiting) on.focus(); say(episodes[k].steps[n][1]); };
  const question = (k, n) => { put(k, n, "What next?"); answer.hidden = false; on.hidden = true; answer.onclick = () => reveal(k, n); answer.focus(); say("What next?"); };

  const at = (s) => {
    const k = episodes.findIndex((e) => e.start <= s && s <= e.end + .01);
    return k < 0 ? [-1, -1] : [k, episodes[k].steps.findLastIndex(([t]) => t <= s + .01)];
  };
  /* When a step is due: where the flight waits, at its moment; where it goes on, so early that it is said by then. */
  const WORDS_S = 2.6, EARLY_S = 2;  // words in a second of the browser's voice; steps stand so long before what they tell
  const due_s = (k, n) => {
    const { start, steps } = episodes[k], [t, words] = steps[n];
    if (pause.checked || ask.checked || !aloud.checked) return t;
    const takes = words.split(/\s+/).length / WORDS_S * Number($("rate").value);
    return Math.max(t - Math.max(takes - EARLY_S, 0), n ? steps[n - 1][0] + .3 : start);
  };
  const go = (playing) => document.dispatchEvent(new CustomEvent("airwork:play", { detail: playing }));
  on.addEventListener("click", () => { waiting = false; on.hidden = true; go(true); $("screen").focus({ preventScroll: true }); });

  document.addEventListener("airwork:now", ({ detail: { now, playing } }) => {
    const before = last;
    last = now;
    if (playing && before !== null && now > before) {
      const due = episodes.flatMap((e, k) => e.steps.map((_, n) => [due_s(k, n), k, n])).find(([t, k, n]) => before < t && t <= now && `${k}/${n}` !== shown);
      if (!due) return;
      const [t, k, n] = due;
      if (!pause.checked && !ask.checked) { reveal(k, n); return; }
      waiting = true; shown = `${k}/${n}`;
      go(false);
      document.dispatchEvent(new CustomEvent("airwork:seek", { detail: t }));
      if (ask.checked) question(k, n); else reveal(k, n);
      return;
    }
    if (waiting || playing) return;
    const [k, n] = at(now);  // moved by hand: the step that stands there
    answer.hidden = on.hidden = true;
    if (k < 0) put(0, -1, "On the way to the next exercise."); else { put(k, n, episodes[k].steps[n][1]); shown = `${k}/${n}`; }
  });
  /* "Play" and the space bar answer what is asked, then go on; nothing is skipped by them. */
  const next = (e) => { if (!waiting) return; e.preventDefault(); e.stopImmediatePropagation(); (answer.hidden ? on : answer).click(); };
  $("play").addEventListener("click", next, true);
  $("screen").addEventListener("keydown", (e) => { if (e.key === " " && !e.target.matches("button, input, select")) next(e); }, true);
  for (const id of ["moment", "which", "before", "after", "strip", "one"]) for (const kind of ["pointerdown", "keydown", "change"]) $(id).addEventListener(kind, () => { waiting = false; }, true);
  document.dispatchEvent(new CustomEvent("airwork:seek", { detail: episodes.length ? episodes[0].start : 0 }));
})();
