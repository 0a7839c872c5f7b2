/* Choosing a student shows at once what they should fly next; only an empty lesson asks for airplane and airport. */
"use strict";
(() => {
  const who = document.getElementById("who-for"), form = document.getElementById("new-lesson");
  /* What is typed goes along; exercises ticked for somebody else don't, nor what nobody chose to begin from. */
  const take = () => {
    const chosen = new URLSearchParams(location.search).has("begin") || !form.querySelector("[name=begin]:checked").defaultChecked;
    const left = ["token", "student", "fly", ...(chosen ? [] : ["begin"])];
    const at = new URLSearchParams([...new FormData(form)].filter(([name]) => !left.includes(name)));
    at.set("student", who.value);
    location.assign(`/lessons/new?${at}`);
  };
  if (who) { who.addEventListener("change", take); who.form.querySelector("button").hidden = true; }
  const blank = form.querySelector(".blank");
  const show = () => { blank.hidden = form.elements.begin.value !== ""; };
  form.addEventListener("change", show);
  show();
})();
