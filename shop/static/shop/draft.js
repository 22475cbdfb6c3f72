// Nothing typed is lost: a form's values are kept on this device, for this person and page, until they are saved.
//
// The one-time token is kept with them, so that a press whose answer was lost and is pressed again stays one record.
// Once it is saved the token is remembered for the page's place in this window's history: whoever goes back there and
// presses again is shown the first record, and nothing is done twice.
(() => {
  "use strict";
  const DAY_MS = 24 * 3600 * 1000;
  const NOT_KEPT = /^(csrfmiddlewaretoken|sure)$|-(TOTAL|INITIAL|MIN_NUM|MAX_NUM)_FORMS$/;

  // A hidden edition says which words this very page shows: it is never put back from another time.
  const isEdition = (field) => field.type === "hidden" && field.name === "edition";

  const person = () => document.body.dataset.person || "";
  const keyOf = (form) => `draft:${person()}:${form.dataset.draft}`;
  const pressedKey = () => `pressed:${person()}`;

  const store = {
    get(key) { try { return JSON.parse(localStorage.getItem(key)); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, JSON.stringify(value)); } catch { /* full, or not allowed */ } },
    drop(key) { try { localStorage.removeItem(key); } catch { /* not allowed */ } },
    keys() { try { return Object.keys(localStorage); } catch { return []; } },
  };

  // Tokens of what was saved, by draft; gone with the window.
  const spent = {
    get(key) { try { return sessionStorage.getItem(`spent:${key}`); } catch { return null; } },
    set(key, token) { try { sessionStorage.setItem(`spent:${key}`, token); } catch { /* full, or not allowed */ } },
    drop(key) { try { sessionStorage.removeItem(`spent:${key}`); } catch { /* not allowed */ } },
    dropAll() {
      try {
        for (const key of Object.keys(sessionStorage)) if (key.startsWith("spent:")) sessionStorage.removeItem(key);
      } catch { /* not allowed */ }
    },
  };

  // Whether this page comes from the window's history, not by a link or a press.
  let fromHistory = performance.getEntriesByType("navigation").some((entry) => entry.type !== "navigate");
  document.addEventListener("htmx:historyCacheMissLoad", () => { fromHistory = true; });
  document.addEventListener("htmx:beforeRequest", () => { fromHistory = false; });

  const keptFields = (form) => [...form.elements].filter((field) =>
    field.name && !NOT_KEPT.test(field.name) && !isEdition(field) && !("secret" in field.dataset) && !["password", "file", "submit", "button"].includes(field.type));

  const keep = (form) => {
    const pairs = [];
    for (const field of keptFields(form)) {
      if ((field.type === "checkbox" || field.type === "radio") && !field.checked) continue;
      if (field.type === "select-multiple") [...field.selectedOptions].forEach((o) => pairs.push([field.name, o.value]));
      else pairs.push([field.name, field.value]);
    }
    store.set(keyOf(form), { at: Date.now(), pairs });
  };

  const fill = (form, pairs) => {
    const left = new Map();
    for (const [name, value] of pairs) left.set(name, [...(left.get(name) || []), value]);
    let changed = false;
    for (const field of keptFields(form)) {
      const values = left.get(field.name);
      if (field.type === "checkbox" || field.type === "radio") {
        const on = Boolean(values && values.includes(field.value));
        changed ||= on !== field.checked;
        field.checked = on;
      } else if (field.type === "select-multiple") {
        for (const option of field.options) option.selected = Boolean(values && values.includes(option.value));
      } else if (values && values.length) {
        const value = values.shift();
        if (field.type !== "hidden") changed ||= value !== field.value;
        field.value = value;
      }
    }
    return changed;
  };

  // A form with rows that was kept with more of them than the page has is asked for anew, with as many.
  const askForRows = (form, draft) => {
    const kept = draft.pairs.find(([name]) => name === "rows")?.[1];
    const address = new URL(location.href);
    if (!form.elements.rows || !(Number(kept) > Number(form.elements.rows.value))) return false;
    if (address.searchParams.get("rows") === kept) return false;
    address.searchParams.set("rows", kept);
    location.replace(address);
    return true;
  };

  const note = (form, sentence) => {
    const place = document.createElement("p");
    place.className = "notice";
    place.setAttribute("role", "status");
    place.append(sentence);
    const afresh = document.createElement("button");
    afresh.type = "button";
    afresh.className = "button-plain";
    afresh.textContent = "Start afresh";
    afresh.addEventListener("click", () => {
      settle();
      store.drop(keyOf(form));
      spent.drop(keyOf(form));
      location.reload();
    });
    place.append(afresh);
    form.before(place);
  };

  const clock = (at) => new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

  const tokenIn = (draft) => (draft ? draft.pairs.find(([name]) => name === "once") : null)?.[1];

  // Typing is kept once it pauses: `waiting` is the form with something not kept yet.
  let waiting = null;
  let pause = 0;
  const settle = () => { clearTimeout(pause); waiting = null; };
  const keepNow = () => {
    const form = waiting;
    settle();
    if (form) keep(form);
  };
  const typed = (event) => {
    const form = event.target.form;
    if (!form || !form.dataset || !form.dataset.draft) return;
    if (waiting !== form) keepNow();
    clearTimeout(pause);
    waiting = form;
    pause = setTimeout(keepNow, 250);
  };

  // The hazard sheets that hurry.js had kept go when somebody signs out.
  const forgetSheets = () => { if ("caches" in window) caches.delete("kept-hazard-sheets").catch(() => {}); };

  const open = () => {
    if (!person()) forgetSheets();
    const pressed = store.get(pressedKey());
    if (pressed && document.querySelector("[data-saved]")) {
      const token = tokenIn(store.get(pressed));
      if (token) spent.set(pressed, token);
      store.drop(pressed);
    }
    store.drop(pressedKey());
    for (const key of store.keys()) {
      if (key.startsWith("draft:") && !(Date.now() - (store.get(key)?.at || 0) < DAY_MS)) store.drop(key);
    }
    const isKept = store.keys().some((key) => key.startsWith("draft:"));
    for (const place of document.querySelectorAll("[data-kept]")) place.hidden = !isKept; // said only where it is so
    for (const form of document.querySelectorAll("form[data-draft]")) {
      if (form.dataset.opened) continue;
      form.dataset.opened = "yes";
      if (form.hasAttribute("data-bound")) { keep(form); continue; }
      const key = keyOf(form), draft = store.get(key), token = fromHistory ? spent.get(key) : null;
      if (draft && askForRows(form, draft)) return;
      if (draft && fill(form, draft.pairs)) {
        note(form, `What you typed here at ${clock(draft.at)} was kept and is filled in again.`);
      } else if (token && form.elements.once) {
        form.elements.once.value = token;
        note(form, "What was pressed here is saved already. Pressing again shows it and does nothing twice.");
      }
      if (!fromHistory) spent.drop(key);
    }
  };

  document.addEventListener("input", typed);
  document.addEventListener("change", typed);
  // whoever leaves, or puts the phone away, right after typing
  window.addEventListener("pagehide", keepNow);
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "hidden") keepNow(); });
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.dataset.draft) {
      settle();
      keep(form);
      store.set(pressedKey(), keyOf(form));
    }
    if (form.hasAttribute("data-forget")) {
      settle();
      spent.dropAll();
      for (const key of store.keys()) if (key.startsWith(`draft:${person()}:`)) store.drop(key);
      forgetSheets();
    }
  }, true);
  document.addEventListener("DOMContentLoaded", open);
  document.addEventListener("htmx:afterSettle", open);
})();
