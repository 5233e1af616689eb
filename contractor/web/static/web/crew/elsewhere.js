// What was read on a visit that is not one's own any more goes onto another open visit of one's own at that site.

import { count, flush } from "./outbox.js";
import { within } from "./store.js";

const box = document.getElementById("elsewhere"), choice = document.getElementById("other-visit");
const part = (name) => box.querySelector(`[data-${name}]`);
const of = (row) => row.body.exchanger || row.body.unit;

// One was taken off its crew, or does not see its site. A sign-off, which has no unit, stays with its own visit.
export const notMine = (row) => row.state === "refused" && !!row.body?.visit && !!of(row)
  && (row.status === 403 || (row.errors || []).some((error) => error.pointer.endsWith("/visit")));

// The same post with its own time and key; the form it was typed on becomes the other visit's.
function onto(row, visit) {
  const old = row.body.visit, moved = (text) => text?.replace(old, visit);
  const draft = row.draft && { ...row.draft, form: moved(row.draft.form), page: moved(row.draft.page) };
  const needs = row.needs.map((id) => (id === old ? visit : id));
  return { ...row, body: { ...row.body, visit }, needs, draft, page: moved(row.page) };
}

async function send(rows, visit) {
  await within(["outbox"], "readwrite", (outbox) => {
    for (const row of rows) outbox.put({ ...(visit ? onto(row, visit) : row), state: "waiting", reason: "", errors: [] });
  });
  await count();
  flush();
}

async function openAt(row) {
  const answer = await fetch(`/crew/open-at/${of(row)}/`).catch(() => null);
  return answer?.ok ? (await answer.json()).visits.filter((one) => one.visit !== row.body.visit) : null;
}

// All that were refused for one visit at once: they are of one site. Another visit's come after them.
export async function offerOthers(rows) {
  const refused = rows.filter(notMine);
  box.hidden = !refused.length;
  if (!refused.length) return;
  const those = refused.filter((row) => row.body.visit === refused[0].body.visit), open = await openAt(those[0]);
  part("why").textContent = `You are not in the crew of the visit that this was read on: ${those.map((row) => row.what).join("; ")}.${open ? "" : " With a signal it can go onto another one."}`;
  const before = choice.value;
  choice.replaceChildren(...(open || []).map((one) => new Option(one.words, one.visit)));
  if (open?.some((one) => one.visit === before)) choice.value = before;
  choice.closest(".field").hidden = part("put").hidden = !open?.length;
  part("none").hidden = !open || open.length > 0;
  part("put").onclick = () => send(those, choice.value);
  part("again").onclick = () => send(those);
}
