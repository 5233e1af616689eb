// What only the screen at the tank needs: a look in SI for the stop rules, its line in the log, its photo.

import { made, say, visit } from "./forms.js";
import { hours, momentOf } from "./moments.js";
import { number } from "./number.js";
import { TEMPERATURE } from "./temperatures.js";

const LENGTH = { cm: 0.01, mm: 0.001, inch: 0.0254 };
let unkept = false;

export function siLook(values) {
  const read = (name) => number(values[name]);
  const level = read("level"), warm = read("temperature"), degrees = TEMPERATURE[values.temperature_unit];
  const at = values.when ? momentOf(values.when) : new Date().toISOString();
  return {
    at, colour: values.colour, fumes: values.fumes, oil: !!values.oil, leak: !!values.leak, gas_alarm: !!values.gas_alarm,
    temperature_k: warm === null || !degrees ? null : warm * degrees[0] + degrees[1],
    level_m: level === null ? null : level * LENGTH[values.level_unit],
    bubbles: values.bubbles, drops: read("drops"), copper_mg_per_l: read("copper_mg_per_l"), iron_mg_per_l: read("iron_mg_per_l"),
  };
}

// The posts of its photo, if there is one.
export async function beside(body, draft, facts) {
  const photo = draft.photo && visit && (await import("./bath.js").catch(() => null));
  unkept = draft.photo && !photo;
  return photo ? photo.posts(body, draft, facts) : [];
}

// A look that was kept just now, above those that the page brought.
export function kept(form, body, values) {
  const place = document.getElementById("log"), when = made("time", hours(body.at));
  const said = [values.ph && `pH ${values.ph}`, values.temperature && `${values.temperature} ${form.elements.temperature_unit.selectedOptions[0].textContent}`,
    values.colour && values.colour.replaceAll("_", " ")].filter(Boolean).join(" ");
  place.querySelector("[data-none]")?.remove();
  place.prepend(document.createElement("li"));
  place.firstElementChild.append(when, ` ${said}`);
  if (unkept) say(form, "The look is kept. Its photo is not: a photo belongs to a visit, and none is open here.", "bad");
}
