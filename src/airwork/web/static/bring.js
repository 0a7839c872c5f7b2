/* Bringing a recording: drop it, see it being sent, go to the flight. Without this script the form does the same. */
"use strict";
(() => {
  const form = document.getElementById("bring"), file = document.getElementById("recording");
  const drop = document.getElementById("drop"), bar = document.getElementById("sent"), said = document.getElementById("said");
  const over = (on) => (e) => { e.preventDefault(); drop.classList.toggle("over", on); };
  document.addEventListener("dragover", over(true));
  document.addEventListener("dragleave", over(false));
  document.addEventListener("drop", (e) => {
    over(false)(e);
    if (!e.dataTransfer.files.length) return;
    file.files = e.dataTransfer.files;
    const student = form.elements.namedItem("student");
    if (!student || student.value) { form.requestSubmit(); return; }
    said.textContent = "Whose flight? Choose, then “debrief”.";
    student.focus();
  });
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    const sending = new XMLHttpRequest();
    sending.open("POST", form.action);
    bar.hidden = false; said.textContent = "sending";
    sending.upload.addEventListener("progress", (p) => { if (p.lengthComputable) bar.value = p.loaded / p.total; });
    sending.upload.addEventListener("load", () => { bar.removeAttribute("value"); said.textContent = "reading and debriefing"; });
    sending.addEventListener("load", () => {
      if (sending.status < 400) { location.assign(sending.responseURL); return; }
      bar.hidden = true; said.textContent = "";
      const page = new DOMParser().parseFromString(sending.responseText, "text/html");
      const problem = page.querySelector(".problem");
      document.querySelector("main .problem")?.remove();
      const p = document.createElement("p");
      p.className = "problem"; p.setAttribute("role", "alert");
      p.textContent = problem ? problem.textContent : `The server refused it (${sending.status}). ${sending.responseText.slice(0, 200)}`;
      form.before(p);
    });
    sending.addEventListener("error", () => { bar.hidden = true; said.textContent = "The server can't be reached."; });
    sending.send(new FormData(form));
  });
})();
