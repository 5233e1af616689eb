// Today's pages, and the labels and safety data sheets they need, come along onto the phone, one after the other.

import { json } from "./forms.js";
import { bringPapers } from "./papers.js";
import { keep, kept, person, within } from "./store.js";
import { tellLong } from "./waiting.js";

const AS_PAGE = { headers: { Accept: "text/html" }, redirect: "manual" };
const pages = () => [location.pathname, ...(json("bring") || [])];

// Without a signal the list is what it was when it was last here.
export function away(said) {
  tellLong();
  const at = new Date(said.dataset.at).toLocaleString(document.documentElement.lang, { weekday: "long", day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" });
  said.textContent = `No signal. This is how your visits stood on ${at}.`;
}

// Of a visit that was opened since the list was: what is not on this phone yet.
export async function missing() {
  for (const page of pages()) if (!(await caches.match(page))) await fetch(page, AS_PAGE).catch(() => {});
}

// Between two looks at the list nothing is fetched twice, unless this phone sent something or the pages are made anew.
const STANDS_MS = 5 * 60000;
async function sentAt() {
  const rows = await within(["kept"], "readonly", (every) => every.getAll());
  return Math.max(0, ...rows.filter((row) => row.person === person && row.name.startsWith("answer:")).map((row) => row.at));
}

async function broughtLately() {
  const shell = (await caches.keys()).find((name) => name.startsWith("shell-")), sent = await sentAt();
  const before = await kept("brought"), at = before?.shell === shell ? before.at : {};
  const stands = async (page) => at[page] > sent && Math.abs(Date.now() - at[page]) < STANDS_MS && !!(await caches.match(page));
  return { shell, at, stands };
}

export async function bring(said) {
  let missed = 0;
  tellLong();
  const { stands, ...lately } = await broughtLately().catch(() => ({ at: {}, stands: () => false }));
  for (const page of pages()) {
    if (page !== location.pathname && (await stands(page))) continue;
    try {
      const asked = Date.now(), answer = await fetch(page, AS_PAGE);
      if (answer.ok) lately.at[page] = asked;
      else missed += 1;
    } catch { missed += 1; }
  }
  await keep("brought", lately).catch(() => {});
  const left = await bringPapers(json("papers"), person).catch(() => []);
  said.dataset.ready = missed ? "no" : "yes";
  said.textContent = missed
    ? "Not everything is on this phone yet: open this page again with a signal."
    : "Today's visits are on this phone and open without a signal.";
  if (left.length) said.textContent += ` Not on this phone, take it on paper: ${left.join(", ")}.`;
}
