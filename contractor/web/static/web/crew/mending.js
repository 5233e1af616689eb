// What to do with an entry that waits or was refused, and the file of last resort.

import { count, flush } from "./outbox.js";
import { drafts, entries, person, within } from "./store.js";

// A refused entry becomes a draft again, on the form it was typed in; its key stays.
export async function mend(row) {
  if (row.draft && (await drafts()).some((draft) => draft.form === row.draft.form)) return false;
  const { key, part, photo, makes, reason, errors } = row;
  const draft = { ...row.draft, key, part, photo, makes, reason, errors, person };
  await within(["outbox", "drafts"], "readwrite", (outbox, typed) => {
    outbox.delete(row.seq);
    if (row.draft) typed.put(draft);
  });
  await count();
  return true;
}

export async function retry(row) {
  await within(["outbox"], "readwrite", (outbox) => outbox.put({ ...row, state: "waiting", reason: "" }));
  await count();
  flush();
}

export async function discard(row) {
  await within(["outbox"], "readwrite", (outbox) => outbox.delete(row.seq));
  await count();
}

function text64(bytes) {
  let text = "";
  new Uint8Array(bytes).forEach((byte) => { text += String.fromCharCode(byte); });
  return btoa(text);
}
const plain = (key, value) => (value instanceof ArrayBuffer ? text64(value) : value);

const clear = ([, value]) => value !== "" && value !== false && !/^[0-9a-f]{8}-[0-9a-f-]{27}$/.test(value) && typeof value !== "object";
const named = ([name, value]) => `${name.replaceAll("_", " ")}: ${value === true ? "yes" : value}`;
const at = (iso) => new Date(iso).toLocaleString(document.documentElement.lang, { dateStyle: "medium", timeStyle: "short" });

// What was typed, as one would read it out.
function inWords(body = {}) {
  const read = Object.entries(body.as_typed || {}).map(([name, { value, unit }]) => [name, `${value} ${unit || ""}`.trim()]);
  return [...Object.entries(body), ...read].filter(clear).map(named).join("; ");
}
const ofDraft = (values = {}) => inWords(Object.fromEntries(Object.entries(values).filter(([name]) => !name.endsWith("_unit") || values[name.slice(0, -5)])));

// Everything unsent as a file: the last resort, for the office to enter by hand. What a person reads stands first.
export async function asFile() {
  const unsent = await entries(), typed = await drafts(), who = document.querySelector(".own a[href*=account]")?.textContent.trim();
  const to_read = [
    ...unsent.map((row) => `${row.what}, saved ${at(row.made_at)}${row.reason ? `, not taken (${row.reason})` : ""}. ${inWords(row.body)}`),
    ...typed.map((draft) => `Typed but not saved: ${draft.title || "a form"}, ${at(draft.at)}. ${ofDraft(draft.values)}`),
  ];
  const all = { who, to_read, from: location.origin, person, made_at: new Date().toISOString(), unsent, drafts: typed };
  return new Blob([JSON.stringify(all, plain, 1)], { type: "application/json" });
}
