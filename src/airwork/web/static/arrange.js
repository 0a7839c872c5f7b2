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
  document.addEventListener("airwork:shown", lift);
  lift();
})();
