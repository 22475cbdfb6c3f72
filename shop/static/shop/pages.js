// The pages of a place are one line on a phone: it opens at the page one is on.
(() => {
  "use strict";
  for (const line of document.querySelectorAll("main > .pages ul")) {
    const here = line.querySelector("[aria-current]");
    if (!here) continue;
    const shown = line.getBoundingClientRect();
    const page = here.getBoundingClientRect();
    line.scrollLeft += page.left + page.width / 2 - (shown.left + shown.width / 2);
  }
})();
