// A draft that came back because the service refused it.

import { complain, say } from "./forms.js";

export function show(form, draft) {
  if (!draft.reason) return;
  say(form, `Not taken: ${draft.reason} Mend it and save again.`, "bad");
  for (const error of draft.errors || []) {
    const name = error.pointer.split("/").find((step) => form.elements[step]);
    if (name && form.elements[name].id) complain(form.elements[name], error.detail);
  }
}

// Of a form mended after a refusal only the part that was refused goes again, under its key; the others arrived.
export function again(posts, draft) {
  const part = posts[draft.part || 0];
  if (!part) throw { words: "What was not taken is missing here now: choose it again." };
  return [{ ...part, part: draft.part, key: draft.key }];
}
