// Everything that waits on this phone: send it, mend what was refused, keep it all as a file.

import { notMine, offerOthers } from "./elsewhere.js";
import { asFile, discard, mend, retry } from "./mending.js";
import { events, flush } from "./outbox.js";
import { drafts, entries } from "./store.js";
import { tellLast, tellLong, tellSafe } from "./waiting.js";

const place = document.getElementById("entries"), typed = document.getElementById("drafts");
const when = (iso) => new Date(iso).toLocaleString(document.documentElement.lang, { dateStyle: "medium", timeStyle: "short" });

function element(kind, words, more = {}) {
  return Object.assign(document.createElement(kind), { textContent: words, ...more });
}

function button(words, act, className = "second") {
  const made = element("button", words, { type: "button", className });
  made.addEventListener("click", act);
  return made;
}

async function takeUp(row) {
  if (!row.draft) return retry(row);
  if (await mend(row)) location.href = row.page;
  else alert("Something else is typed on that form. Save or clear it first.");
}

function card(row) {
  const box = element("article", "", { className: "card" });
  const refused = row.state === "refused";
  box.append(element("h3", row.what), element("p", `Saved ${when(row.made_at)} · ${refused ? "not taken" : "waits to be sent"}`, { className: "small" }));
  if (!refused) return box;
  box.append(element("p", notMine(row) ? "Its visit is not yours any more." : row.reason, { className: "message error" }));
  const away = () => confirm(`Throw away: ${row.what}? It cannot be brought back.`) && discard(row);
  const buttons = element("p", "", { className: "send" });
  if (!notMine(row)) buttons.append(button(row.draft ? "Mend it" : "Try again", () => takeUp(row), ""));
  buttons.append(button("Throw away", away));
  box.append(buttons);
  return box;
}

async function show() {
  tellLong();
  tellLast(document.getElementById("last-sent"));
  const rows = await entries(), open = await drafts();
  offerOthers(rows);
  place.replaceChildren(...(rows.length ? rows.map(card) : [element("p", "Nothing waits. Everything you saved has arrived.", { className: "empty" })]));
  typed.replaceChildren(...(open.length ? open.map((draft) => {
    const line = element("p", "");
    const what = draft.title ? `${draft.title}, typed` : "Typed";
    line.append(element("a", `${what} ${when(draft.at)}: go on with it`, { href: draft.page || "/crew/" }));
    return line;
  }) : [element("p", "Nothing.", { className: "small" })]));
}

document.getElementById("send-now").addEventListener("click", flush);
document.getElementById("as-file").addEventListener("click", async () => {
  const link = element("a", "", { href: URL.createObjectURL(await asFile()), download: `waterside-unsent-${new Date().toISOString().slice(0, 16)}.json` });
  link.click();
});
events.addEventListener("count", show);
show();
tellSafe(document.getElementById("how-safe"));
