// What the service says is to be done now, above every screen of a descale.

const RANKED = "nothing_dissolving";
const line = (textContent, className = "") => Object.assign(document.createElement("li"), { textContent, className });
const AT_ONCE = 4;

// What is told, and the first few of the steps that lack: a list of them all would push the step itself out of sight.
export function doNow(sayings) {
  const stopped = sayings.some((one) => ["stop", "drain_and_rinse_now"].includes(one.code)), ofSteps = (one) => document.querySelector(`[data-step="${one.code}"]`);
  const told = sayings.filter((one) => !ofSteps(one) && (one.urgent || !stopped)), steps = sayings.filter(ofSteps);
  const shown = steps.slice(0, steps.length > AT_ONCE ? AT_ONCE - 1 : AT_ONCE), more = steps.length - shown.length;
  const rows = [...told, ...shown].map((one) => line(one.words, one.urgent ? "urgent" : ""));
  if (more) rows.push(line(`And ${more} more.`));
  if (sayings.some((one) => one.code === RANKED)) {
    rows.push(line(""));
    rows.at(-1).append(Object.assign(document.createElement("a"), { href: "#causes", textContent: "What else may be wrong, and how sure" }));
  }
  const place = document.getElementById("do-now");
  place.closest("section").hidden = !rows.length;
  place.replaceChildren(...rows);
}
