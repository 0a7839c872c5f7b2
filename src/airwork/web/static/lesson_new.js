/* Choosing a student shows at once what they should fly next; only an empty lesson asks for airplane and airport. */
"use strict";
(() => {
  const who = document.getElementById("who-for"), form = document.getElementById("new-lesson");
  if (who) { who.addEventListener("change", () => who.form.submit()); who.form.querySelector("button").hidden = true; }
  const blank = form.querySelector(".blank");
  const show = () => { blank.hidden = form.elements.begin.value !== ""; };
  form.addEventListener("change", show);
  show();
})();
