// The readings form: gauge units, what they mean at once, and the answer while one is still there.

import { id, json, say, visit, wire } from "./forms.js";
import { converted, digits, fromSi, lines, number, told, toSi, KIND } from "./physics.js";
import { follow } from "./answer.js";
import { minusKeys } from "./minus.js";
import { draftOf, keep, kept } from "./store.js";

const facts = json("facts"), form = document.getElementById("reading");
const FORM = `reading:${facts.exchanger}:${visit}`;
const STATIC = ["mode", "purpose", "stage", "gauge_set", "drop_read_by"];
const quantities = [...form.querySelectorAll("[data-kind]")];
const unitOf = (field) => form.elements[`${field.name}_unit`]?.value || field.dataset.unit;

function siValues() {
  const si = {};
  for (const field of quantities) si[field.name] = toSi(number(field.value), field.dataset.kind, unitOf(field), facts.elevation_m);
  return si;
}

const temperatureUnit = () => form.elements.entering_water_unit.value;
function temperature(k) {
  const unit = temperatureUnit();
  return `${digits(fromSi(k, "temperature", unit), 1)} ${KIND.temperature[unit][2]}`;
}
const difference = (k) => (temperatureUnit() === "degF" ? `${digits(k * 1.8, 1)} °F` : `${digits(k, 1)} K`);

// What is told stands in the card, and at the field whose typing completes it.
const SAID = { head: "Condensing", suction: "Evaporating", superheat: "Superheat", subcooling: "Subcooling", approach: "Approach", water_change: "Water change", flow: "Flow" };
const AT = { head: "head_pressure", suction: "suction_pressure", superheat: "suction_line", subcooling: "liquid_line", water_change: "leaving_water" };
let beside = {};

function show(name, words, odd = "", at = AT[name]) {
  const out = document.getElementById(`told-${name}`);
  out.textContent = words || "–";
  out.dataset.odd = odd;
  if (words || odd) (beside[at] ??= []).push([words && `${SAID[name]} ${words}`, odd]);
}

function atTheField(field) {
  const out = document.getElementById(`${field.id}-is`);
  if (!out) return;
  const is = converted(field.value, field.dataset.kind, unitOf(field), facts.elevation_m), said = beside[field.name] || [];
  const told = said.map(([words]) => Object.assign(document.createElement("strong"), { textContent: words }));
  const odd = Object.assign(document.createElement("span"), { className: "odd", textContent: said.map(([, words]) => words).join(" ").trim() });
  out.replaceChildren(is, ...[...told, odd].filter((one) => one.textContent).flatMap((one) => [" ", one]));
}

const showMinus = minusKeys(quantities, unitOf);
let table = null;
function tell() {
  showMinus();
  beside = {};
  const mode = form.elements.mode.value, si = siValues();
  const found = told(si, mode, table, facts.design);
  const if_ = (value, how) => (value === null ? "" : how(value));
  const outside = (line) => (found.outside.includes(line) ? `Outside ${table.refrigerant}'s table: read again.` : "");
  if (table) show("head", if_(found.head_saturation_k, temperature), outside("head"));
  show("suction", if_(found.suction_saturation_k, temperature), outside("suction"));
  show("superheat", if_(found.superheat_k, difference), found.superheat_k < 0 ? "Below zero: read again." : "");
  show("subcooling", if_(found.subcooling_k, difference), found.subcooling_k < 0 ? "Below zero: read again." : "");
  show("approach", if_(found.approach_k, difference), found.approach_k < 0 ? "Below zero: read again." : "", mode === "cooling" ? "head_pressure" : "suction_pressure");
  const wrong = found.water_change_k < -0.5 ? `In ${mode} water leaves ${mode === "cooling" ? "warmer" : "colder"} than it enters: exchanged?` : "";
  show("water_change", if_(found.water_change_k, difference), wrong);
  const flow = (share) => `${found.flow_is_metered ? "" : "about "}${Math.round(share * 100)} % of design`;
  show("flow", if_(found.flow_over_design, flow),
    found.flow_over_design !== null && found.flow_over_design < 0.8 ? "Low: strainer, valves, air." : "",
    found.flow_is_metered ? "water_flow" : "water_pressure_drop");
  quantities.forEach(atTheField);
}

export function bodyOf(values, draft, exchanger) {
  const as_typed = {};
  for (const field of quantities) {
    const text = values[field.name]?.trim();
    if (!text) continue;
    if (number(text) === null) throw { field, words: `${text} is not one number; expected a number such as 85.2.` };
    as_typed[field.name] = { value: text, unit: values[`${field.name}_unit`] || field.dataset.unit };
  }
  const plain = {};
  for (const name of ["strainer", "back_flush", "fault_lockout", "note", "stage", "gauge_set", "purpose", "drop_read_by"]) {
    if (values[name]) plain[name] = values[name];
  }
  for (const name of ["minutes_running", "phases"]) {
    const field = form.elements[name], text = values[name]?.trim();
    if (text && number(text) === null) throw { field, words: `${text} is not one number; expected a whole number.` };
    if (text) plain[name] = number(text);
  }
  if (values.power_includes_fan) plain.power_includes_fan = true;
  if (!Object.keys(as_typed).length && !plain.strainer && !plain.back_flush && !plain.fault_lockout && !plain.note) {
    throw { field: quantities[0], words: "Nothing is typed yet. One value is enough; the rest can follow." };
  }
  if (!visit) throw { words: "No visit is open here. Open one from your visits, or by the unit's tag." };
  const taken_at = (draft.ids.taken_at ??= new Date().toISOString());
  return { id: id(draft, "reading"), visit, exchanger, mode: values.mode, taken_at, probe_moved: !!values.probe_moved, as_typed, ...plain };
}

function build(values, draft) {
  const body = bodyOf(values, draft, facts.exchanger);
  const needs = [visit];
  return [{ what: `Readings of ${facts.name}, ${body.mode}`, path: "/api/v1/readings/", body, makes: body.id, needs }];
}

// What was typed before the phone knew the unit, or before a visit was open, is offered.
async function offerEarly() {
  for (const name of visit ? [`early:${facts.tag.toUpperCase()}`, `reading:${facts.exchanger}:`] : []) {
    const early = await draftOf(name);
    if (early?.values) return (await import("./early.js")).offer(name, early, FORM, facts.tag);
  }
}

async function begin() {
  document.querySelector("[data-no-visit]").hidden = !!visit;
  await offerEarly();
  const answer = document.getElementById("answer");
  const carried = await kept(`static:${visit}`);
  const held = await wire(form, FORM, build, (rows, values) => {
    const same = {};
    for (const name of [...STATIC, ...Object.keys(values).filter((name) => name.endsWith("_unit"))]) same[name] = values[name];
    keep(`static:${visit}`, same);
    apply(same);
    tell();
    follow(rows[0].key, answer);
    answer.scrollIntoView({ block: "start" });
  });
  const untouched = !held.restored && !Number(form.dataset.kept);
  if (carried && untouched) apply(carried);
  if (untouched && location.hash) apply({ purpose: location.hash.slice(1) }); // a descale asks for its own
  form.addEventListener("input", tell);
  form.addEventListener("reset", () => setTimeout(tell));
  form.querySelector("[data-forget]")?.addEventListener("click", () => confirm("Clear all that is typed here? It cannot be brought back.") && held.forget().then(() => say(form, "Cleared.")));
  const fetched = await fetch(facts.table).catch(() => null);
  table = fetched?.ok ? lines(await fetched.json()) : null;
  if (!table) show("head", "", "The refrigerant's table is not on this phone.");
  tell();
  form.dataset.ready = "yes";
}

// Units and what does not change between circuits; never a reading. Only where it can be chosen here.
function apply(same) {
  for (const [name, value] of Object.entries(same)) {
    const field = form.elements[name], choices = [...(field?.options || (field?.length ? field : []))];
    if (value && choices.some((one) => one.value === value)) field.value = value;
  }
}
begin();
