// What the dose screen needs besides its form: which lots are offered, and the bath that was mixed just now.

import { made } from "./forms.js";
import { hours } from "./moments.js";

// Lots of the cleaner that is chosen; the only one that has not lapsed is the likeliest.
const mix = document.getElementById("batch"), lots = [...mix.elements.lot.options].slice(1);
export function offerLots(keep = false) {
  const { cleaner, lot } = mix.elements, chosen = lot.value, fit = lots.filter((one) => !cleaner.value || one.dataset.cleaner === cleaner.value);
  const good = fit.filter((one) => cleaner.value && !("lapsed" in one.dataset));
  lot.replaceChildren(lot.options[0], ...fit);
  lot.value = keep || fit.some((one) => one.value === chosen) ? chosen : "";
  if (!keep && !lot.value && good.length === 1) lot.value = good[0].value;
}
mix.addEventListener("restored", () => offerLots(true));
mix.elements.cleaner.addEventListener("change", () => offerLots());

// With a fresh bath in, those before it are out. Its clock and limits are its own label's; it has to be out at once
// where nobody can tell what it is, where the label forbids it here, and where another cleaner is still in.
export function started(batches, body, labels) {
  const { id, at } = body, cleaner = body.cleaner || mix.querySelector(`option[value="${body.lot}"]`)?.dataset.cleaner;
  const label = labels[cleaner], mixed = batches.some((one) => !one.out_at && one.cleaner && one.cleaner !== cleaner);
  const out_by = new Date(Date.parse(at) + (mixed ? 0 : label?.longest_time_s || 0) * 1000).toISOString();
  return [...batches.map((one) => ({ ...one, out_at: one.out_at || at })), { id, at, out_by, cleaner, limits: label?.limits }];
}

// A bath that was mixed just now, with its lot, below those that the page brought.
export function kept(form, body, values, count) {
  const place = document.getElementById("baths"), when = made("time", hours(body.at));
  const named = (name, none) => [...mix.elements[name].options].find((one) => one.value && one.value === body[name])?.textContent || none;
  place.querySelector("[data-none]")?.remove();
  place.append(made("li"));
  place.lastElementChild.append(when, ` Batch ${count}: ${named("cleaner", "nobody can tell what")}, lot ${named("lot", "not told")}`);
  offerLots();
}
offerLots(true);
