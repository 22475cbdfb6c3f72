// Nothing typed is lost: a form's values are kept on this device, for this person and page, until they are saved.
//
// The one-time token is kept with them, so that a press whose answer was lost and is pressed again stays one record.
(() => {
  "use strict";
  const DAY_MS = 24 * 3600 * 1000;
  const NOT_KEPT = /^(csrfmiddlewaretoken|sure)$|-(TOTAL|INITIAL|MIN_NUM|MAX_NUM)_FORMS$/;

  const person = () => document.body.dataset.person || "";
  const keyOf = (form) => `draft:${person()}:${form.dataset.draft}`;
  const pressedKey = () => `pressed:${person()}`;

  const store = {
    get(key) { try { return JSON.parse(localStorage.getItem(key)); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, JSON.stringify(value)); } catch { /* full, or not allowed */ } },
    drop(key) { try { localStorage.removeItem(key); } catch { /* not allowed */ } },
    keys() { try { return Object.keys(localStorage); } catch { return []; } },
  };

  const keptFields = (form) => [...form.elements].filter((field) =>
    field.name && !NOT_KEPT.test(field.name) && !["password", "file", "submit", "button"].includes(field.type));

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

  const note = (form, at) => {
    const place = document.createElement("p");
    place.className = "notice";
    place.setAttribute("role", "status");
    const when = new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
    place.append(`What you typed here at ${when} was kept and is filled in again.`);
    const afresh = document.createElement("button");
    afresh.type = "button";
    afresh.className = "button-plain";
    afresh.textContent = "Start afresh";
    afresh.addEventListener("click", () => { store.drop(keyOf(form)); location.reload(); });
    place.append(afresh);
    form.before(place);
  };

  const open = () => {
    const pressed = store.get(pressedKey());
    if (pressed && document.querySelector("[data-token-spent]")) {
      // what was typed after the first press is another deed: it keeps its words and gets a token of its own
      const draft = store.get(pressed);
      if (draft) store.set(pressed, { ...draft, pairs: draft.pairs.filter(([name]) => name !== "once") });
    } else if (pressed && document.querySelector("[data-saved]")) store.drop(pressed);
    store.drop(pressedKey());
    for (const key of store.keys()) {
      if (key.startsWith("draft:") && !(Date.now() - (store.get(key)?.at || 0) < DAY_MS)) store.drop(key);
    }
    for (const form of document.querySelectorAll("form[data-draft]")) {
      if (form.dataset.opened) continue;
      form.dataset.opened = "yes";
      if (form.hasAttribute("data-bound")) { keep(form); continue; }
      const draft = store.get(keyOf(form));
      if (draft && fill(form, draft.pairs)) note(form, draft.at);
    }
  };

  let waiting = 0;
  const typed = (event) => {
    const form = event.target.form;
    if (!form || !form.dataset || !form.dataset.draft) return;
    clearTimeout(waiting);
    waiting = setTimeout(() => keep(form), 250);
  };
  document.addEventListener("input", typed);
  document.addEventListener("change", typed);
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.dataset.draft) {
      clearTimeout(waiting);
      keep(form);
      store.set(pressedKey(), keyOf(form));
    }
    if (form.hasAttribute("data-forget")) {
      for (const key of store.keys()) if (key.startsWith(`draft:${person()}:`)) store.drop(key);
    }
  }, true);
  document.addEventListener("DOMContentLoaded", open);
  document.addEventListener("htmx:afterSettle", open);
})();
