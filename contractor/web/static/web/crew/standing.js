// Where a descale stands, what keeps its dose screen shut and whether it can be proven, as the service says; null where it does not say.

export async function standing(facts) {
  const answer = await fetch(`/api/v1/descales/${facts.descale}/now/`, { headers: { Accept: "application/json" } });
  if (!answer.ok) return null;
  const now = await answer.json(), shut = document.querySelector("[data-shut]"), state = now.state.replaceAll("_", " ");
  document.querySelector("[data-state]").textContent = state[0].toUpperCase() + state.slice(1);
  document.getElementById("proof").hidden = !facts.provable.includes(now.state);
  shut.hidden = !now.dose_shut_because.length;
  const lines = now.dose_shut_because.map((one) => Object.assign(document.createElement("li"), { textContent: one.words }));
  shut.querySelector("ul").replaceChildren(...lines);
  return now;
}
