// Where a descale stands, what keeps its dose screen shut and whether it can be proven, as the service says; null where it does not say.

import { made } from "./forms.js";

const SOON_MS = 250;
let asking = 0;

async function standing(facts) {
  const answer = await fetch(`/api/v1/descales/${facts.descale}/now/`, { headers: { Accept: "application/json" } });
  if (!answer.ok) return null;
  const now = await answer.json(), shut = document.querySelector("[data-shut]"), state = now.state.replaceAll("_", " ");
  document.querySelector("[data-state]").textContent = state[0].toUpperCase() + state.slice(1);
  document.getElementById("proof").hidden = !facts.provable.includes(now.state);
  shut.hidden = !now.dose_shut_because.length;
  shut.querySelector("ul").replaceChildren(...now.dose_shut_because.map((one) => made("li", one.words)));
  return now;
}

// Once for what is sent in one go. `met` is told what is due next, and how many looks were known when it was asked.
export function askSoon(facts, looksKnown, met) {
  clearTimeout(asking);
  asking = setTimeout(async () => {
    const looks = looksKnown(), now = await standing(facts).catch(() => null);
    if (now) met({ ...now.next_looks.at(-1), looks });
  }, SOON_MS);
}
