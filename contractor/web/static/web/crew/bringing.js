// Today's pages, and the labels and safety data sheets they need, come along onto the phone, one after the other.

import { json } from "./forms.js";
import { bringPapers } from "./papers.js";
import { person } from "./store.js";

export async function bring(said) {
  let missed = 0;
  for (const page of [location.pathname, ...(json("bring") || [])]) {
    try {
      const answer = await fetch(page, { headers: { Accept: "text/html" }, redirect: "manual" });
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
