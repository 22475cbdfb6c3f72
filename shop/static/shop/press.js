// One press is one record: shows at once that a press was heard, drops a second one, and says plainly when no answer came.
(() => {
  "use strict";
  const LOST = "No answer came. What you typed is kept. Press again: it is saved once only, however often you press.";
  // Of a press whose moment is kept (lathe.js).
  const KEPT = "No answer came. The moment of your press is kept, and it is sent by itself once this device has its connection back. Or press again: it is saved once only.";

  const say = (sentence) => {
    const place = document.getElementById("connection");
    if (!place) return;
    place.textContent = sentence;
    place.hidden = !sentence;
    if (sentence) place.scrollIntoView({ block: "nearest" });
  };

  const busy = (form, on, pressed) => {
    form.toggleAttribute("aria-busy", on);
    if (on) form.setAttribute("aria-busy", "true");
    for (const button of form.querySelectorAll("button:not([type=button])")) {
      if (on) {
        if (!pressed || pressed === button) {
          button.dataset.words = button.textContent;
          button.textContent = "Saving…";
        }
        button.setAttribute("aria-disabled", "true");
      } else {
        if (button.dataset.words) button.textContent = button.dataset.words;
        delete button.dataset.words;
        button.removeAttribute("aria-disabled");
      }
    }
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    if (form.hasAttribute("aria-busy")) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    // a file that would be refused is not sent at all
    const large = [...form.querySelectorAll("input[type=file][data-most-bytes]")].find((box) =>
      [...box.files].some((file) => file.size > Number(box.dataset.mostBytes)));
    if (large) {
      event.preventDefault();
      event.stopImmediatePropagation();
      say(`That file is larger than ${large.dataset.most}. ${large.dataset.instead || "Send it in parts, one after another."}`);
      return;
    }
    say("");
    // after the browser has gathered what is sent: a button's words are not part of it, but its state could be
    queueMicrotask(() => busy(form, true, event.submitter));
  }, true);

  const formOf = (event) => event.detail && event.detail.elt && event.detail.elt.closest && event.detail.elt.closest("form");

  for (const name of ["htmx:sendError", "htmx:timeout", "htmx:swapError"]) {
    document.addEventListener(name, (event) => {
      const form = formOf(event);
      if (form) busy(form, false);
      say(form && form.matches("[data-keep-press], [data-keep-start]") ? KEPT : LOST);
    });
  }
  document.addEventListener("htmx:afterRequest", (event) => {
    const form = formOf(event);
    if (form && form.isConnected) busy(form, false);
  });

  // The page may come back from the browser's own store with a press still marked on it.
  window.addEventListener("pageshow", () => document.querySelectorAll("form[aria-busy]").forEach((form) => busy(form, false)));

  window.addEventListener("offline", () => say("This device has lost its connection. What you type is kept on it."));
  window.addEventListener("online", () => say(""));

  const settle = (moved) => {
    const errors = document.getElementById("errors");
    if (errors) {
      errors.focus({ preventScroll: true });
      errors.scrollIntoView({ block: "start" });
    } else if (moved) {
      document.getElementById("main")?.focus({ preventScroll: true });
      window.scrollTo(0, 0);
    }
  };
  document.addEventListener("DOMContentLoaded", () => settle(false));
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.detail.target === document.body) settle(true);
  });
})();

// The pages of a place are one line on a phone: it opens at the page one is on. (Here, to spare a request.)
(() => {
  "use strict";
  const open = () => {
    for (const line of document.querySelectorAll("main > .pages ul")) {
      const here = line.querySelector("[aria-current]");
      if (!here) continue;
      const shown = line.getBoundingClientRect();
      const page = here.getBoundingClientRect();
      line.scrollLeft += page.left + page.width / 2 - (shown.left + shown.width / 2);
    }
  };
  open();
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.detail.target === document.body) open();
  });
})();
