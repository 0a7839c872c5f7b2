/* Which units fit what a column is said to be: the list of units follows; one quantity is pointed at once only. */
"use strict";
(() => {
  const form = document.getElementById("columns"), known = JSON.parse(document.getElementById("quantities").textContent);
  const follow = (what) => {
    const unit = form.elements.namedItem(what.name.replace("what/", "unit/")), fits = known.units[what.value];
    for (const option of unit.options) option.hidden = option.disabled = Boolean(option.value) && !(fits || []).includes(option.value);
    if (unit.selectedOptions[0].disabled) unit.value = "";
    unit.disabled = !fits || !fits.length;
    what.closest("li").classList.toggle("open", !what.value);
  };
  const all = [...form.querySelectorAll("select[name^='what/']")];
  for (const one of all) {
    follow(one);
    one.addEventListener("change", () => {
      if (one.value && !known.many.includes(one.value)) for (const other of all) if (other !== one && other.value === one.value) { other.value = ""; follow(other); }
      follow(one);
    });
  }
})();
