/* Exercises dragged into another order; the arrows beside them do the same from the keyboard and on a phone. */
"use strict";
(() => {
  const form = document.getElementById("lesson-form");
  const rows = () => [...form.querySelectorAll("fieldset.exercise")];
  let held = null;
  const lift = () => {
    for (const row of rows()) {
      if (row.querySelector(".grip")) continue;
      const grip = document.createElement("span");
      grip.className = "grip"; grip.textContent = "drag"; grip.draggable = true; grip.setAttribute("aria-hidden", "true");
      row.querySelector(".moves").prepend(grip);
    }
  };
  const mark = (row) => { for (const one of rows()) one.classList.toggle("drop-here", one === row); };
  form.addEventListener("dragstart", (e) => {
    held = e.target.closest?.("fieldset.exercise");
    if (held) { e.dataTransfer.effectAllowed = "move"; e.dataTransfer.setData("text/plain", held.dataset.row); held.classList.add("held"); }
  });
  form.addEventListener("dragover", (e) => {
    const over = held && e.target.closest("fieldset.exercise");
    if (!over) return;
    e.preventDefault();
    mark(over === held ? null : over);
  });
  form.addEventListener("drop", (e) => {
    const over = held && e.target.closest("fieldset.exercise");
    if (!over || over === held) return;
    e.preventDefault();
    const button = document.createElement("button");
    button.name = "do"; button.value = `${held.dataset.row}/to/${rows().indexOf(over)}`; button.hidden = true;
    form.append(button);
    form.requestSubmit(button);
  });
  form.addEventListener("dragend", () => { mark(null); held?.classList.remove("held"); held = null; });
  /* On a phone the form's parts are folded, but for one with a complaint: the lesson is a page long, not ten. */
  const open = new Set();
  const fold = () => {
    const phone = matchMedia("(max-width: 600px)").matches;
    for (const part of form.querySelectorAll("fieldset")) {
      const name = part.querySelector("legend"), word = name.textContent.replace(/^\d+ /, "");
      if (!phone) { part.classList.remove("folded"); for (const a of ["role", "tabindex", "aria-expanded"]) name.removeAttribute(a); continue; }
      const shut = !open.has(word) && !part.querySelector("[aria-invalid]") && !part.contains(document.activeElement);
      part.classList.toggle("folded", shut);
      name.setAttribute("role", "button"); name.tabIndex = 0; name.setAttribute("aria-expanded", String(!shut));
      if (name.dataset.folds) continue;
      name.dataset.folds = "1";
      const turn = () => { if (open.has(word)) open.delete(word); else open.add(word); part.classList.toggle("folded", !open.has(word)); name.setAttribute("aria-expanded", String(open.has(word))); };
      name.addEventListener("click", turn);
      name.addEventListener("keydown", (e) => { if (e.key === "Enter" || e.key === " ") { e.preventDefault(); turn(); } });
    }
  };
  document.addEventListener("airwork:shown", () => { lift(); fold(); });
  matchMedia("(max-width: 600px)").addEventListener("change", fold);
  lift(); fold();
})();
