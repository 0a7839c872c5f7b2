/* From a complaint to its line in the text. */
"use strict";
(() => {
  const text = document.getElementById("text");
  const goTo = (line) => {
    const rows = text.value.split("\n"), start = rows.slice(0, line - 1).reduce((n, r) => n + r.length + 1, 0);
    text.focus();
    text.setSelectionRange(start, start + (rows[line - 1] || "").length);
    text.scrollTop = Math.max(0, (line - 6) * text.scrollHeight / rows.length);
  };
  document.querySelectorAll(".goto").forEach((b) => b.addEventListener("click", () => goTo(Number(b.dataset.line))));
})();
