// Boxes for secrets can be read while one types; a shared device locks when it is left alone.
(() => {
  "use strict";

  // A button beside each password, made here: without script there is none that does nothing.
  const readable = () => {
    for (const box of document.querySelectorAll("input[type=password]:not([data-secret])")) {
      box.dataset.secret = "";
      const button = document.createElement("button");
      button.type = "button";
      button.className = "show-secret";
      const say = (shown) => {
        box.type = shown ? "text" : "password";
        button.textContent = shown ? "Hide" : "Show";
        button.setAttribute("aria-label", `${button.textContent} what is typed`);
      };
      say(false);
      box.autocapitalize = "none";
      box.spellcheck = false;
      button.addEventListener("click", () => say(box.type === "password"));
      // it goes out as what it is, and the browser may offer to keep it
      box.form?.addEventListener("submit", () => say(false), true);
      box.after(button);
    }
  };

  // The last sign of life is told between the windows of one device.
  const LIFE = "idle:last", WARN_MS = 30_000, TELL_MS = 15_000;
  const last = () => { try { return Number(localStorage.getItem(LIFE)) || 0; } catch { return 0; } };
  let mine = Date.now(), told = Date.now();
  const alive = () => {
    mine = Date.now();
    try { localStorage.setItem(LIFE, String(mine)); } catch { /* not allowed: this window alone, then */ }
  };
  const look = () => {
    const place = document.getElementById("idle"), form = document.getElementById("change-places");
    if (!place || !form) return;
    const now = Date.now(), since = now - Math.max(mine, last()), left = Number(place.dataset.lockS) * 1000 - since;
    if (left <= 0) { form.requestSubmit(); return; }
    const warns = left <= WARN_MS;
    if (warns && place.hidden) place.textContent = "Nobody has touched this device for a while: it locks in half a minute. Touch it to stay.";
    place.hidden = !warns;
    if (since < TELL_MS && now - told >= TELL_MS) {
      told = now;
      fetch(place.dataset.here, { redirect: "manual" }).catch(() => { /* the next one may get through */ });
    }
  };

  const open = () => { readable(); look(); };
  for (const sign of ["pointerdown", "keydown", "input", "scroll"]) {
    document.addEventListener(sign, () => { if (document.getElementById("idle")) { alive(); look(); } }, { passive: true, capture: true });
  }
  document.addEventListener("DOMContentLoaded", () => { if (document.getElementById("idle")) alive(); open(); setInterval(look, 1000); });
  document.addEventListener("visibilitychange", look);
  document.addEventListener("htmx:afterSettle", open);
})();
