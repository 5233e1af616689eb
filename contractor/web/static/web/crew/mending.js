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

// Everything unsent as a file: the last resort, for the office to enter by hand.
export async function asFile() {
  const all = { from: location.origin, person, made_at: new Date().toISOString(), unsent: await entries(), drafts: await drafts() };
  return new Blob([JSON.stringify(all, plain, 1)], { type: "application/json" });
}
