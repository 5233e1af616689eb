// What was typed before this visit was open goes into its readings form: put in with its own time, then looked over and saved.

import { draftOf, dropDraft, keepDraft } from "./store.js";

export function offer(name, early, form, tag) {
  const card = document.getElementById("early");
  const drop = async () => { await dropDraft(name); card.hidden = true; };
  const when = new Date(early.at).toLocaleString(document.documentElement.lang, { dateStyle: "medium", timeStyle: "short" });
  card.querySelector("[data-when]").textContent = `At ${tag}, ${when}. It is not sent until you save it here.`;
  card.querySelector("[data-drop]").addEventListener("click", () => confirm("Throw away what was typed? It cannot be brought back.") && drop());
  card.querySelector("[data-take]").addEventListener("click", async () => {
    const page = location.pathname + location.search, ids = { taken_at: early.at }, before = await draftOf(form);
    const typed = Object.entries(early.values).filter(([, value]) => value !== "");
    await keepDraft({ form, values: { ...before?.values, ...Object.fromEntries(typed) }, ids, at: early.at, page });
    await drop();
    location.reload();
  });
  card.hidden = false;
}
