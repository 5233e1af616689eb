// What the service says is to be done now, above every screen of a descale.

import { made } from "./forms.js";

const RANKED = "nothing_dissolving", AT_ONCE = 4;

// What is told, and the first few of the steps that lack: a list of them all would push the step itself out of sight.
export function doNow(sayings) {
  const stopped = sayings.some((one) => ["stop", "drain_and_rinse_now"].includes(one.code)), ofSteps = (one) => document.querySelector(`[data-step="${one.code}"]`);
  const told = sayings.filter((one) => !ofSteps(one) && (one.urgent || !stopped)), steps = sayings.filter(ofSteps);
  const shown = steps.slice(0, steps.length > AT_ONCE ? AT_ONCE - 1 : AT_ONCE), more = steps.length - shown.length;
  const rows = [...told, ...shown].map((one) => Object.assign(made("li", one.words), { className: one.urgent ? "urgent" : "" }));
  if (more) rows.push(made("li", `And ${more} more.`));
  if (sayings.some((one) => one.code === RANKED)) {
    rows.push(made("li"));
    rows.at(-1).append(Object.assign(made("a", "What else may be wrong, and how sure"), { href: "#causes" }));
  }
  const place = document.getElementById("do-now");
  place.closest("section").hidden = !rows.length;
  place.replaceChildren(...rows);
}
