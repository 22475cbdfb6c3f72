// At the lathe: how long a side runs and what is left of it, what is to be said of its stylus, and presses that keep
// their time while there is no connection. Without any of it the pages show when it was started and when it should end.
(() => {
  "use strict";
  const two = (number) => String(number).padStart(2, "0");
  const length = (seconds) => {
    const whole = Math.max(0, Math.floor(seconds));
    const hours = Math.floor(whole / 3600), minutes = Math.floor((whole % 3600) / 60);
    return hours ? `${hours}:${two(minutes)}:${two(whole % 60)}` : `${minutes}:${two(whole % 60)}`;
  };
  const clock = (at) => { const day = new Date(at); return `${two(day.getHours())}:${two(day.getMinutes())}:${two(day.getSeconds())}`; };

  const store = {
    get(key) { try { return localStorage.getItem(key); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, value); } catch { /* full, or not allowed */ } },
    drop(key) { try { localStorage.removeItem(key); } catch { /* not allowed */ } },
  };
  const person = () => document.body.dataset.person || "";

  // How far the server's clock is ahead of this device's, in milliseconds, as each page that comes from it says.
  let ahead = 0;
  const look = () => {
    const told = document.querySelector("[data-clock]");
    if (!told || told.dataset.read) return;
    told.dataset.read = "yes";
    ahead = Number(told.dataset.clock) - Date.now();
  };
  const now = () => Date.now() + ahead;

  // The running side ---------------------------------------------------------------------------------------------------
  let said = "";
  const say = (place, words) => {
    if (!place || words === said) return;
    said = words;
    place.textContent = words;
  };
  const current = (list, seconds) => {
    let found = null;
    for (const item of list ? list.children : []) {
      if (Number(item.dataset.at) <= seconds) found = item;
    }
    for (const item of list ? list.children : []) item.toggleAttribute("aria-current", item === found);
    if (found) found.setAttribute("aria-current", "true");
    return found;
  };

  const tick = () => {
    const run = document.querySelector("[data-run]");
    if (!run) return;
    const pressed = Number(store.get(`stop:${person()}:${run.dataset.run}`)) || 0;
    const seconds = ((pressed || now()) - 1000 * Number(run.dataset.started)) / 1000;
    const time = run.querySelector("[data-run-time]");
    time.querySelector("b").textContent = length(seconds);
    time.querySelector(".run-word").textContent = pressed ? "Stopped at" : "Running";
    run.toggleAttribute("data-stopped", Boolean(pressed));
    current(document.querySelector("[data-run-titles]"), seconds);
    const advice = current(document.querySelector("[data-run-advice]"), seconds);
    const ends = Number(run.dataset.ends), room = Number(run.dataset.room), left = run.querySelector("[data-run-left]");
    const change = run.querySelector("[data-run-change]");
    const words = advice ? advice.querySelector("span").textContent : "";
    // At the start everything is on the page; what is said aloud is what has changed since.
    const first = advice && advice === advice.parentElement.firstElementChild;
    if (!ends) { if (!first) say(change, words); return; }
    const over = seconds - ends;
    left.textContent = over < 0 ? `${length(ends - seconds)} left by the plan` : `${length(over)} past the plan`;
    run.toggleAttribute("data-over", over >= 0);
    if (seconds >= room) say(change, "The last groove that this record may have is past.");
    else if (over >= 0) say(change, `Past the plan. There is room for ${Math.max(1, Math.round((room - ends) / 60))} min of music more.`);
    else if (ends - seconds <= 60) say(change, "Less than a minute left by the plan.");
    else if (!first) say(change, words);
  };

  // Presses that keep their time ---------------------------------------------------------------------------------------
  const keptAs = (form) => (form.dataset.keepPress ? `stop:${person()}:${form.dataset.keepPress}` : "");
  const mark = (form, at) => {
    const place = form.querySelector("[data-pressed]");
    if (!place) return;
    const words = place.querySelector("[data-pressed-words]") || place;
    words.textContent = `Pressed at ${clock(at - ahead)} and not saved yet. It is kept on this device and counts from then.`;
    place.hidden = false;
  };

  // A start has no row yet that it could be kept by: it is kept with all that was chosen, until an answer comes.
  const LATEST_MS = 3 * 3600 * 1000;
  const startForm = () => document.querySelector("form[data-keep-start]");
  const startKey = () => `start:${person()}`;
  const keptStart = () => {
    try {
      const kept = JSON.parse(store.get(startKey()));
      return kept && now() - kept.at < LATEST_MS ? kept : null;
    } catch { return null; }
  };
  const keepStart = (form) => {
    const pairs = [...new FormData(form)].filter(([name]) => !["csrfmiddlewaretoken", "sure"].includes(name));
    store.set(startKey(), JSON.stringify({ at: Number(form.elements.pressed_at.value), pairs }));
  };
  const putBack = (form) => {
    const kept = keptStart();
    if (!kept || form.elements.pressed_at.value) return;
    const values = new Map(kept.pairs);
    if (values.get("wanted") !== form.elements.wanted.value) return;
    for (const [name, value] of values) {
      const box = form.elements[name];
      if (box && "value" in box) box.value = value;
    }
    mark(form, kept.at);
  };
  document.addEventListener("click", (event) => {
    const button = event.target.closest && event.target.closest("button[data-stamp]");
    const box = button && button.form && button.form.elements.pressed_at;
    if (!box || button.form.hasAttribute("aria-busy")) return;
    const key = keptAs(button.form);
    if (!box.value) box.value = (key && store.get(key)) || String(Math.round(now()));
    if (key) store.set(key, box.value);
    if ("keepStart" in button.form.dataset) keepStart(button.form);
  }, true);
  document.addEventListener("click", (event) => {
    if (event.target.closest && event.target.closest("[data-drop-press]")) store.drop(startKey());
  }, true);
  // Whatever the answer is, the page that it brings knows when it was pressed.
  document.addEventListener("htmx:afterRequest", (event) => {
    const form = event.detail && event.detail.elt && event.detail.elt.closest && event.detail.elt.closest("form");
    if (form && "keepStart" in form.dataset && event.detail.xhr && event.detail.xhr.status) store.drop(startKey());
  });

  for (const name of ["htmx:sendError", "htmx:timeout"]) {
    document.addEventListener(name, (event) => {
      const form = event.detail && event.detail.elt && event.detail.elt.closest && event.detail.elt.closest("form");
      if (form && form.elements.pressed_at && form.elements.pressed_at.value) mark(form, Number(form.elements.pressed_at.value));
    });
  }
  // What was pressed without a connection is sent when there is one again.
  window.addEventListener("online", () => {
    for (const form of document.querySelectorAll("form[data-keep-press]")) {
      if (store.get(keptAs(form)) && !form.hasAttribute("aria-busy")) setTimeout(() => form.isConnected && form.requestSubmit(), 500);
    }
    const start = startForm();
    if (start && keptStart() && start.elements.pressed_at.value && !start.hasAttribute("aria-busy")) setTimeout(() => start.isConnected && start.requestSubmit(), 500);
  });

  const open = () => {
    look();
    said = "";
    const there = new Set();
    for (const form of document.querySelectorAll("form[data-keep-press]")) {
      const at = store.get(keptAs(form));
      there.add(keptAs(form));
      if (!at) continue;
      form.elements.pressed_at.value = at;
      mark(form, Number(at));
    }
    // a page without that form, or another one's, came from the server: what was pressed is saved, or is not to be
    const run = document.querySelector("[data-run-ended]");
    if (run) store.drop(`stop:${person()}:${run.dataset.runEnded}`);
    if (run || document.querySelector("[data-run]")) store.drop(startKey());
    if (startForm()) putBack(startForm());
    tick();
  };
  setInterval(tick, 1000);
  document.addEventListener("DOMContentLoaded", open);
  document.addEventListener("htmx:afterSettle", open);
  document.addEventListener("visibilitychange", tick);
})();
