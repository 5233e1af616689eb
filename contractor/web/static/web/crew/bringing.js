// Today's pages, and the labels and safety data sheets they need, come along onto the phone, one after the other.

import { json } from "./forms.js";
import { bringPapers } from "./papers.js";
import { person } from "./store.js";
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

export async function bring(said) {
  let missed = 0;
  tellLong();
  for (const page of pages()) {
    try {
      const answer = await fetch(page, AS_PAGE);
      if (!answer.ok) missed += 1;
    } catch { missed += 1; }
  }
  const left = await bringPapers(json("papers"), person).catch(() => []);
  said.dataset.ready = missed ? "no" : "yes";
  said.textContent = missed
    ? "Not everything is on this phone yet: open this page again with a signal."
    : "Today's visits are on this phone and open without a signal.";
  if (left.length) said.textContent += ` Not on this phone, take it on paper: ${left.join(", ")}.`;
}
