/* A table wider than the page can be scrolled with the keyboard too. */
"use strict";
(() => {
  const reach = () => {
    for (const box of document.querySelectorAll(".scroll")) {
      if (box.scrollWidth > box.clientWidth) { box.tabIndex = 0; box.setAttribute("role", "group"); box.setAttribute("aria-label", "wide content, scrolls sideways"); }
      else { box.removeAttribute("tabindex"); box.removeAttribute("role"); box.removeAttribute("aria-label"); }
    }
  };
  reach();
  window.addEventListener("resize", reach);
  document.addEventListener("toggle", reach, true);
  document.addEventListener("airwork:shown", reach);
})();
