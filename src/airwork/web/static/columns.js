/* What a column is, pointed at: press a name, then its line; or choose it in the column's own list. The list of units
   follows; one quantity is pointed at once only. */
"use strict";
(() => {
  const form = document.getElementById("columns"), known = JSON.parse(document.getElementById("quantities").textContent);
  const all = [...form.querySelectorAll("select[name^='what/']")], palette = document.getElementById("palette");
  const names = [...palette.querySelectorAll("button")], row = (what) => what.closest("li");
  let picked = null;
  const follow = (what) => {
    const unit = form.elements.namedItem(what.name.replace("what/", "unit/")), fits = known.units[what.value];
    for (const option of unit.options) option.hidden = option.disabled = Boolean(option.value) && !(fits || []).includes(option.value);
    if (unit.selectedOptions[0].disabled) unit.value = "";
    unit.disabled = !fits || !fits.length;
    row(what).classList.toggle("open", !what.value);
  };
  const said = () => {
    for (const b of names) {
      const has = all.filter((s) => s.value === b.value).map((s) => row(s).querySelector("h2").textContent);
      b.querySelector("span").textContent = has.length ? ` ✓ ${has.join(", ")}` : "";
    }
  };
  const pick = (button) => {
    picked = button;
    for (const b of names) b.setAttribute("aria-pressed", String(b === button));
    form.classList.toggle("picking", Boolean(button));
    for (const one of form.querySelectorAll(".this-one")) { one.hidden = !button; if (button) one.textContent = `this is the ${button.dataset.name}`; }
  };
  const settle = (what) => {
    if (what.value && !known.many.includes(what.value)) for (const other of all) if (other !== what && other.value === what.value) { other.value = ""; follow(other); }
    follow(what);
    said();
  };
  for (const what of all) {
    const here = document.createElement("button");
    here.type = "button"; here.className = "plain this-one"; here.hidden = true;
    row(what).querySelector("h2").after(here);
    row(what).addEventListener("click", (e) => {
      if (!picked || e.target.closest("select, option, label")) return;
      what.value = picked.value;
      settle(what);
      pick(null);
      const unit = form.elements.namedItem(what.name.replace("what/", "unit/"));
      if (!unit.disabled) unit.focus();
    });
    what.addEventListener("change", () => settle(what));
    follow(what);
  }
  for (const b of names) b.addEventListener("click", () => pick(picked === b ? null : b));
  document.addEventListener("keydown", (e) => { if (e.key === "Escape") pick(null); });
  palette.hidden = false;
  said();
})();
