// The readings form: gauge units, what they mean at once, and the answer while one is still there.

import { id, json, say, visit, wire } from "./forms.js";
import { converted, fromSi, lines, number, told, toSi, KIND } from "./physics.js";
import { follow } from "./answer.js";
import { draftOf, dropDraft, keep, keepDraft, kept } from "./store.js";

const facts = json("facts"), form = document.getElementById("reading");
const FORM = `reading:${facts.exchanger}:${visit}`;
const STATIC = ["purpose", "stage", "gauge_set"];
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
  return `${fromSi(k, "temperature", unit).toFixed(1)} ${KIND.temperature[unit][2]}`;
}
const difference = (k) => (temperatureUnit() === "degF" ? `${(k * 1.8).toFixed(1)} °F` : `${k.toFixed(1)} K`);

function show(name, words, odd = "") {
  const out = document.getElementById(`told-${name}`);
  if (!out) return;
  out.textContent = words || "–";
  out.dataset.odd = odd;
}

let table = null;
function tell() {
  const mode = form.elements.mode.value, si = siValues();
  const found = told(si, mode, table, facts.design_flow_m3_per_s);
  const if_ = (value, how) => (value === null ? "" : how(value));
  show("head", if_(found.head_saturation_k, temperature));
  show("suction", if_(found.suction_saturation_k, temperature));
  show("superheat", if_(found.superheat_k, difference), found.superheat_k < 0 ? "Below zero: read again." : "");
  show("subcooling", if_(found.subcooling_k, difference), found.subcooling_k < 0 ? "Below zero: read again." : "");
  show("approach", if_(found.approach_k, difference), found.approach_k < 0 ? "Below zero: read again." : "");
  const wrong = found.water_change_k < -0.5 ? `In ${mode} the leaving water is ${mode === "cooling" ? "warmer" : "colder"}: exchanged?` : "";
  show("water_change", if_(found.water_change_k, difference), wrong);
  show("flow", if_(found.flow_over_design, (share) => `${Math.round(share * 100)} % of design`),
    found.flow_over_design !== null && found.flow_over_design < 0.8 ? "Low: strainer, valves, air." : "");
  for (const field of quantities) {
    const out = document.getElementById(`${field.id}-is`);
    if (out) out.textContent = converted(field.value, field.dataset.kind, unitOf(field), facts.elevation_m);
  }
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
  for (const name of ["strainer", "back_flush", "fault_lockout", "note", "stage", "gauge_set", "purpose"]) {
    if (values[name]) plain[name] = values[name];
  }
  for (const name of ["minutes_running", "phases"]) {
    const field = form.elements[name], text = values[name]?.trim();
    if (text && number(text) === null) throw { field, words: `${text} is not one number; expected a whole number.` };
    if (text) plain[name] = number(text);
  }
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

// What was typed under the tag before the phone knew the unit: put in with its own time, then looked over and saved.
async function offerEarly() {
  const name = `early:${facts.tag.toUpperCase()}`, early = await draftOf(name), card = document.getElementById("early");
  if (!early?.values || !visit) return;
  const drop = async () => { await dropDraft(name); card.hidden = true; };
  card.querySelector("[data-when]").textContent = `At ${facts.tag}, ${new Date(early.at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" })}. It is not sent until you save it here.`;
  card.querySelector("[data-drop]").addEventListener("click", drop);
  card.querySelector("[data-take]").addEventListener("click", async () => {
    const page = location.pathname + location.search, ids = { taken_at: early.at };
    await keepDraft({ form: FORM, values: early.values, ids, at: early.at, page });
    await drop();
    location.reload();
  });
  card.hidden = false;
}

async function begin() {
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
  if (carried && !Number(form.dataset.kept)) apply(carried, true);
  form.addEventListener("input", tell);
  form.addEventListener("reset", () => setTimeout(tell));
  form.querySelector("[data-forget]")?.addEventListener("click", () => held.forget().then(() => say(form, "Cleared.")));
  const fetched = await fetch(facts.table).catch(() => null);
  table = fetched?.ok ? lines(await fetched.json()) : null;
  if (!table) show("head", "", "The refrigerant's table is not on this phone.");
  tell();
  form.dataset.ready = "yes";
}

// Units and what does not change between circuits; never a reading.
function apply(same, onlyEmpty = false) {
  for (const [name, value] of Object.entries(same)) {
    const field = form.elements[name];
    if (field && value && !(onlyEmpty && form.dataset.restored === "yes")) field.value = value;
  }
}
begin();
