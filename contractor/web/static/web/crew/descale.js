// A descale, one screen at a time: checks before acid, the dose and its clock, looks at the tank, the end.

import { id, json, wire } from "./forms.js";
import { number, toSi } from "./physics.js";
import { events, flush } from "./outbox.js";
import { keep, kept } from "./store.js";
import { asks, clock, nextLook, stops } from "./stop.js";
import "./here.js";

const facts = json("facts"), KEPT = `descale:${facts.descale}`;
const LENGTH = { cm: 0.01, mm: 0.001, inch: 0.0254 };
let batches = facts.batches, looks = facts.looks;

// --- one screen at a time, by links that work as bookmarks too
const screens = [...document.querySelectorAll("[data-screen]")];
function turn() {
  const wanted = location.hash.slice(1) || facts.screen;
  const shown = screens.some((one) => one.id === wanted) ? wanted : facts.screen;
  for (const one of screens) one.hidden = one.id !== shown;
  for (const link of document.querySelectorAll(".screens a")) {
    if (link.hash === `#${shown}`) link.setAttribute("aria-current", "step");
    else link.removeAttribute("aria-current");
  }
}
addEventListener("hashchange", () => { turn(); scrollTo(0, 0); });

// --- what a form holds, as the API takes it
function bodyOf(form, values, draft) {
  const as_typed = {}, body = { id: id(draft, "record"), at: (draft.ids.at ??= new Date().toISOString()) };
  for (const field of form.elements) {
    const text = typeof values[field.name] === "string" ? values[field.name].trim() : values[field.name];
    if (!field.name || field.name.endsWith("_unit") || text === "" || text === false || text === undefined) continue;
    const { kind, as } = field.dataset;
    if ((kind || as === "number") && number(text) === null) throw { field, words: `${text} is not one number.` };
    if (kind) as_typed[field.name] = { value: text, unit: values[`${field.name}_unit`] || field.dataset.unit };
    else body[field.name] = as === "number" ? number(text) : text;
  }
  if (Object.keys(as_typed).length) body.as_typed = as_typed;
  return { ...JSON.parse(form.dataset.body || "{}"), ...body };
}

function siLook(form, values) {
  const read = (name) => number(values[name]);
  const level = read("level"), at = new Date().toISOString();
  return {
    at, colour: values.colour, fumes: values.fumes, oil: !!values.oil, leak: !!values.leak, gas_alarm: !!values.gas_alarm,
    temperature_k: toSi(read("temperature"), "temperature", values.temperature_unit),
    level_m: level === null ? null : level * LENGTH[values.level_unit],
    copper_mg_per_l: read("copper_mg_per_l"), iron_mg_per_l: read("iron_mg_per_l"),
  };
}

const running = () => batches.filter((one) => !one.out_at).at(-1);
const ofBatch = (batch) => looks.filter((look) => batch && Date.parse(look.at) >= Date.parse(batch.at));
const remember = () => keep(KEPT, { batches, looks });

function tellOffline(typed) {
  const batch = running(), seen = [...ofBatch(batch), ...(typed ? [typed] : [])];
  const found = stops(facts.limits, batch, seen, Date.now());
  const out = document.getElementById("stop");
  out.hidden = !found.length;
  const lines = found.map((one) => Object.assign(document.createElement("p"), { textContent: `${one.words} ${one.what}` }));
  const words = found.length ? [Object.assign(document.createElement("h2"), { textContent: "Stop" }), ...lines] : [];
  if (out.textContent !== words.map((one) => one.textContent).join("")) out.replaceChildren(...words);
  document.getElementById("ask").textContent = asks(seen).join(" ");
  return found;
}

function tick() {
  const batch = running(), out = document.getElementById("clock");
  out.hidden = !batch;
  if (!batch) return;
  const left = Date.parse(batch.out_by) - Date.now(), due = nextLook(batch, ofBatch(batch)) - Date.now();
  const by = new Date(batch.out_by).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  out.querySelector("[data-left]").textContent = left < 0 ? clock(left) : `${clock(left)} left`;
  out.querySelector("[data-by]").textContent = `Out by ${by}`;
  out.querySelector("[data-next]").textContent = due <= 0 ? "Next look: now" : `Next look in ${clock(due)}`;
  tellOffline(document.getElementById("look")?.dataset.typed ? siLook(look, Object.fromEntries(new FormData(look))) : null);
}

function doNow(sayings) {
  const rows = sayings.map((one) => Object.assign(document.createElement("li"), { textContent: one.words, className: one.urgent ? "urgent" : "" }));
  const place = document.getElementById("do-now");
  place.closest("section").hidden = !rows.length;
  place.replaceChildren(...rows);
}

events.addEventListener("sent", ({ detail: { path, said } }) => {
  if (!path.includes(facts.descale)) return;
  doNow(said.do_now || []);
  if (said.record?.out_by) {
    batches = [...batches.filter((one) => one.id !== said.record.id), said.record];
    remember();
  }
});

// --- every form of every screen goes the same way
const look = document.getElementById("look");
for (const form of document.querySelectorAll("form[data-send]")) {
  const name = form.dataset.what, path = `/api/v1/descales/${facts.descale}/${form.dataset.send}/`;
  wire(form, `descale:${facts.descale}:${form.id}`, (values, draft) => {
    const body = bodyOf(form, values, draft);
    return [{ what: `${name}: ${facts.tag}`, path, body, makes: body.id, needs: [] }];
  }, (rows, values) => {
    if (form === look) { looks = [...looks, siLook(form, values)]; delete form.dataset.typed; }
    if (form.dataset.send === "batches") {
      const out_by = new Date(Date.parse(rows[0].body.at) + (facts.longest_time_s || 0) * 1000).toISOString();
      batches = [...batches.map((one) => ({ ...one, out_at: one.out_at || rows[0].body.at })), { id: rows[0].body.id, at: rows[0].body.at, out_by }];
    }
    if (form.dataset.send === "batch-out" || rows[0].body.kind === "drained") {
      batches = batches.map((one) => ({ ...one, out_at: one.out_at || rows[0].body.at }));
    }
    if (form.dataset.check) form.closest("li").dataset.done = values.outcome || "passed";
    remember();
    tick();
  }).then(() => { form.dataset.ready = "yes"; });
}
look?.addEventListener("input", () => { look.dataset.typed = "1"; tick(); });

async function begin() {
  const before = await kept(KEPT);
  for (const one of before?.batches || []) if (!batches.some((known) => known.id === one.id)) batches.push(one);
  const since = looks.length ? Date.parse(looks.at(-1).at) : 0;
  looks = [...looks, ...(before?.looks || []).filter((one) => Date.parse(one.at) > since + 1000)];
  turn();
  tick();
  setInterval(tick, 1000);
  flush();
}
begin();
