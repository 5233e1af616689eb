// A form on a phone: what is typed is kept at once, restored when the page comes back, saved through the outbox.

import { draftOf, dropDraft, keepDraft } from "./store.js";
import { save } from "./outbox.js";

export const visit = new URLSearchParams(location.search).get("visit") || document.body.dataset.visit || "";
const named = (form) => [...form.elements].filter((field) => field.name && field.type !== "file" && field.type !== "hidden");

export function valuesOf(form) {
  const values = {};
  for (const field of named(form)) {
    if (field.type === "radio") { if (field.checked) values[field.name] = field.value; }
    else values[field.name] = field.type === "checkbox" ? field.checked : field.value;
  }
  return values;
}

const touched = (field) => (field.tagName === "INPUT" || field.tagName === "TEXTAREA") && field.type !== "radio" && field.value !== field.defaultValue;

// What was typed before this script ran stays.
export function fill(form, values) {
  for (const field of named(form)) {
    if (!(field.name in values) || touched(field)) continue;
    const value = values[field.name];
    if (field.type === "radio") field.checked = field.value === value;
    else if (field.type === "checkbox") field.checked = value;
    else field.value = value;
  }
}

// A message at its field; "" takes it away.
export function complain(field, words) {
  const id = `${field.id}-wrong`;
  let note = document.getElementById(id);
  if (!words) {
    note?.remove();
    field.removeAttribute("aria-invalid");
    return;
  }
  if (!note) {
    note = Object.assign(document.createElement("p"), { id, className: "wrong-words" });
    field.closest(".field, .row, td, form").append(note);
  }
  note.textContent = words;
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", `${field.getAttribute("aria-describedby") || ""} ${id}`.trim());
}

export function say(form, words, kind = "") {
  const out = form.querySelector("[role=status]");
  if (out) { out.textContent = words; out.className = `said ${kind}`; }
}

const SECOND_TAP_MS = 700;
const UNMENDED = { key: undefined, makes: undefined, reason: undefined, errors: undefined };
const title = () => document.querySelector("h1")?.textContent.trim() || "";

// build(values, draft) gives the posts or throws {field, words}. Returns {restored, forget}.
export async function wire(form, name, build, after = () => {}) {
  const fresh = () => ({ form: name, values: {}, ids: {}, at: new Date().toISOString() });
  const begun = await draftOf(name).catch(() => null);
  let draft = begun || fresh(), inStore = !!begun;
  const anew = () => { draft = fresh(); inStore = false; form.reset(); };
  fill(form, draft.values);
  form.dispatchEvent(new Event("restored"));
  const mended = draft.key || draft.reason ? await import("./mended.js") : null;
  mended?.show(form, draft);
  if (draft.photo && !draft.reason) say(form, `The photo ${draft.photo.name} is kept on this phone.`);

  // A photo that is still being made small is waited for.
  let chosen = Promise.resolve();
  const unkept = () => say(form, "Not kept: the phone has no room. Leave this page open, make room, try again.", "bad");
  async function typed(event) {
    if (event.target.matches("[aria-invalid]")) complain(event.target, "");
    if (event.target.type === "file") {
      const photo = await (await import("./photo.js")).taken(form, event.target);
      draft = { ...draft, photo };
    }
    draft = { ...draft, values: valuesOf(form), title: title(), page: location.pathname + location.search };
    const now = draft;
    try { await keepDraft(now); } catch { return unkept(); }
    inStore = true;
    form.dataset.kept = String(Number(form.dataset.kept || 0) + 1);
  }
  // What was typed in another tab is here too, not written over; what was saved there is not saved again.
  async function elsewhere() {
    const now = await draftOf(name).catch(() => draft);
    if (now || !inStore) return now;
    anew();
    say(form, "Saved or cleared in another tab.", "good");
  }
  document.addEventListener("visibilitychange", async () => {
    const now = document.hidden ? null : await elsewhere();
    if (now) { inStore = true; fill(form, now.values); }
  });
  form.addEventListener("input", (event) => event.target.type !== "file" && typed(event));
  form.addEventListener("change", (event) => { if (event.target.type === "file") chosen = chosen.then(() => typed(event)).catch(unkept); });

  // A second tap of a button just pressed means nothing; the phone's clock may be off, this one is not.
  let saving = false, savedAt = -SECOND_TAP_MS;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (saving || performance.now() - savedAt < SECOND_TAP_MS) return;
    saving = true;
    chosen.then(submit).finally(() => { saving = false; });
  });
  async function submit() {
    if (inStore && !(await elsewhere())) return;
    const values = valuesOf(form);
    let posts;
    try {
      posts = await build(values, draft);
      if (draft.key) posts = mended.again(posts, draft);
    } catch (wrong) {
      if (!wrong.words) throw wrong;
      if (wrong.field) { complain(wrong.field, wrong.words); wrong.field.focus(); }
      say(form, wrong.words, "bad");
      return;
    }
    const whole = { ...draft, values, title: title(), photo: undefined, ...UNMENDED };
    const rows = await save(posts.map((post, part) => ({ part, ...post })), whole, location.pathname + location.search).catch(unkept);
    if (!rows) return;
    anew();
    savedAt = performance.now();
    say(form, "Kept on this phone; it goes to the office by itself.", "good");
    after(rows, values);
  }

  return {
    restored: !!begun,
    forget: async () => { await dropDraft(name); anew(); },
  };
}

export const id = (draft, name) => (draft.ids[name] ??= crypto.randomUUID());
export const made = (tag, textContent) => Object.assign(document.createElement(tag), { textContent });
export const json = (name) => JSON.parse(document.getElementById(name)?.textContent || "null");
