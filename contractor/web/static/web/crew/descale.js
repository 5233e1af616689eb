// A descale, one screen at a time: checks before acid, the dose and its clock, looks at the tank, the end.

import { id, json, say, valuesOf, visit, wire } from "./forms.js";
import { number, toSi } from "./units.js";
import { events, flush } from "./outbox.js";
import { keep, kept } from "./store.js";
import { follow } from "./screens.js";
import { asks, clock, nextLook, stops } from "./stop.js";
import "./here.js";

const facts = json("facts"), KEPT = `descale:${facts.descale}`;
const LENGTH = { cm: 0.01, mm: 0.001, inch: 0.0254 };
let batches = facts.batches, looks = facts.looks, done = {}, due = { ...facts.due, looks: looks.length };

// A time of day that has been: today's, or yesterday's where today's is still to come.
function momentOf(text) {
  const [hour, minute] = text.split(":").map(Number), found = new Date();
  found.setHours(hour, minute, 0, 0);
  if (found > Date.now()) found.setDate(found.getDate() - 1);
  return found.toISOString();
}

// --- what a form holds, as the API takes it
function bodyOf(form, values, draft) {
  const bare = "bare" in form.dataset;
  const stamp = { at: values.when ? momentOf(values.when) : (draft.ids.at ??= new Date().toISOString()) };
  const as_typed = {}, body = bare ? ("stamp" in form.dataset ? stamp : {}) : { id: id(draft, "record"), ...stamp };
  for (const field of form.elements) {
    const text = typeof values[field.name] === "string" ? values[field.name].trim() : values[field.name];
    if (field.dataset?.must && !text) throw { field, words: field.dataset.must };
    if (!field.name || field.name === "when" || field.name.endsWith("_unit") || text === "" || text === false || text === undefined) continue;
    const { kind, as } = field.dataset;
    if ((kind || as) && number(text) === null) throw { field, words: `${text} is not one number.` };
    if (kind) as_typed[field.name] = { value: text, unit: values[`${field.name}_unit`] || field.dataset.unit };
    else body[field.name] = as === "percent" ? Number((number(text) / 100).toPrecision(12)) : as ? number(text) : text;
  }
  if (Object.keys(as_typed).length) body.as_typed = as_typed;
  return { ...JSON.parse(form.dataset.body || "{}"), ...body };
}

function siLook(form, values) {
  const read = (name) => number(values[name]);
  const level = read("level"), at = values.when ? momentOf(values.when) : new Date().toISOString();
  return {
    at, colour: values.colour, fumes: values.fumes, oil: !!values.oil, leak: !!values.leak, gas_alarm: !!values.gas_alarm,
    temperature_k: toSi(read("temperature"), "temperature", values.temperature_unit),
    level_m: level === null ? null : level * LENGTH[values.level_unit],
    bubbles: values.bubbles, drops: read("drops"), copper_mg_per_l: read("copper_mg_per_l"), iron_mg_per_l: read("iron_mg_per_l"),
  };
}

// A look that was kept just now, above those that the page brought.
function logged(body, values) {
  const place = document.getElementById("log"), when = Object.assign(document.createElement("time"), { textContent: hours(body.at) });
  const said = [values.ph && `pH ${values.ph}`, values.temperature && `${values.temperature} ${look.elements.temperature_unit.selectedOptions[0].textContent}`,
    values.colour && values.colour.replaceAll("_", " ")].filter(Boolean).join(" ");
  place.querySelector("[data-none]")?.remove();
  place.prepend(Object.assign(document.createElement("li")));
  place.firstElementChild.append(when, ` ${said}`);
}

const byTime = (one, other) => Date.parse(one.at) - Date.parse(other.at);
const running = () => batches.filter((one) => !one.out_at).at(-1);
const ofBatch = (batch) => looks.filter((look) => batch && Date.parse(look.at) >= Date.parse(batch.at));
const remember = () => keep(KEPT, { batches, looks, done });

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

const hours = (at) => new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

// As the service said, unless a look was taken since; else by the usual times.
function nextDue(batch) {
  return due.look_at && due.looks === looks.length ? Date.parse(due.look_at) : nextLook(batch, ofBatch(batch));
}

async function askHowItStands() {
  const known = looks.length, now = await (await import("./standing.js")).standing(facts);
  if (!now) return;
  due = { ...now.next_looks.at(-1), looks: known };
  tick();
}
let asking = 0;
const askSoon = () => { clearTimeout(asking); asking = setTimeout(() => askHowItStands().catch(() => {}), 250); };

function tick() {
  for (const one of document.querySelectorAll("[data-clock]")) one.querySelector("strong").textContent = clock(Date.parse(one.dataset.clock) - Date.now());
  const batch = running(), out = document.getElementById("clock");
  out.hidden = !batch;
  const typed = look.dataset.typed ? siLook(look, valuesOf(look)) : null;
  if (!batch) return void tellOffline(batches.length ? null : typed); // what stopped a bath is over once it is out
  const left = Date.parse(batch.out_by) - Date.now(), until = nextDue(batch) - Date.now();
  const by = hours(batch.out_by), titrate = due.titrate_by && due.looks === looks.length ? `; titrate by ${hours(due.titrate_by)}` : "";
  out.querySelector("[data-left]").textContent = left < 0 ? clock(left) : `${clock(left)} left`;
  out.querySelector("[data-by]").textContent = `Out by ${by}`;
  out.querySelector("[data-next]").textContent = until <= 0 ? "Next look: now" : `Next look in ${clock(until)}`;
  out.querySelector("[data-next]").textContent += titrate;
  tellOffline(typed);
}

events.addEventListener("sent", ({ detail: { path, said } }) => {
  if (!path.includes(facts.descale)) return;
  import("./told.js").then((it) => it.doNow(said.do_now || []));
  askSoon();
  if (/looks\/$/.test(path)) document.querySelector("[data-verdict]")?.remove();
  if (said.record?.out_by) {
    batches = [...batches.filter((one) => one.id !== said.record.id), said.record];
    remember();
  }
});

// The batches that a phone knows of, unsent ones among them; the last is the likeliest.
function offerBatches() {
  for (const field of document.querySelectorAll("[data-batches]")) {
    const chosen = field.value, made = batches.map((one, n) => new Option(`Batch ${n + 1}, ${hours(one.at)}`, one.id));
    field.replaceChildren(field.options[0], ...made);
    field.value = batches.some((one) => one.id === chosen) ? chosen : batches.at(-1)?.id || "";
  }
  const could = document.getElementById("could-not");
  if (could) could.hidden = batches.length > 0;
  document.getElementById("batch-is-out").hidden = !running();
}

// The photo of a look is a finding of the visit with the look's time. It goes after the look, which waits for nothing.
function photoOf(draft, found_at, taken) {
  if (!visit) return [];
  const finding = id(draft, "photo");
  const body = { id: finding, visit, unit: facts.unit, exchanger: facts.exchanger, kind: "photo", note: `of the bath, look of ${hours(found_at)}`, found_at };
  return [
    { what: `Photo of the bath: ${facts.tag}`, path: "/api/v1/findings/", body, makes: finding, needs: [visit] },
    { what: `Photo of ${facts.tag}`, path: `/api/v1/findings/${finding}/photo/`, photo: draft.photo, needs: [visit, finding] },
    { what: `Photo to its look: ${facts.tag}`, path: `/api/v1/descales/${facts.descale}/look-photo/`, body: { look: taken, photo: finding }, needs: [taken, finding] },
  ];
}

// --- every form of every screen goes the same way
const look = document.getElementById("look"), signature = document.getElementById("signature");
let pad = null, unkept = false;
// What only one screen needs comes with it.
async function forScreen() {
  const shown = location.hash || `#${facts.screen}`;
  if (shown === "#waste") await import("./letting_out.js");
  if (shown === "#dose") await import("./mixing.js");
  if (shown === "#sign") pad ??= (await import("./pad.js")).drawing(document.getElementById("pad"));
}
addEventListener("hashchange", forScreen);
forScreen();
for (const form of document.querySelectorAll("form[data-send]")) {
  const name = form.dataset.what, path = `/api/v1/descales/${facts.descale}/${form.dataset.send}/`;
  wire(form, `descale:${facts.descale}:${form.id}`, (values, draft) => {
    const body = bodyOf(form, values, draft);
    if (form === signature) {
      body.strokes = body.typed ? [] : pad?.strokes() || [];
      if (!body.typed && !body.strokes.length) throw { field: signature.elements.typed, words: "Draw the signature in the box, or tick that the typed name is it." };
    }
    const needs = [body.batch, body.held].filter(Boolean), photo = form === look && draft.photo ? photoOf(draft, body.at, body.id) : [];
    unkept = form === look && draft.photo && !visit;
    return [{ what: `${name}: ${facts.tag}`, path, body, makes: body.id, needs }, ...photo];
  }, (rows, values) => {
    if (form === look) { looks = [...looks, siLook(form, values)].sort(byTime); delete form.dataset.typed; logged(rows[0].body, values); }
    if (unkept) say(form, "The look is kept. Its photo is not: a photo belongs to a visit, and none is open here.", "bad");
    if (form.dataset.send === "batches") {
      const out_by = new Date(Date.parse(rows[0].body.at) + (facts.longest_time_s || 0) * 1000).toISOString();
      batches = [...batches.map((one) => ({ ...one, out_at: one.out_at || rows[0].body.at })), { id: rows[0].body.id, at: rows[0].body.at, out_by }];
      import("./mixing.js").then((it) => { it.bathed(rows[0].body, hours(rows[0].body.at), batches.length); it.offerLots(); });
    }
    if (form.dataset.send === "batch-out" || rows[0].body.kind === "drained") {
      batches = batches.map((one) => ({ ...one, out_at: one.out_at || rows[0].body.at }));
    }
    if (values.vent_at_both_tops) import("./reversing.js").then((it) => it.mayReverse(values.vent_at_both_tops === "true"));
    if ("check" in form.dataset) { done[form.id] = values.outcome; import("./steps.js").then((it) => it.recorded(form.closest("li"), values.outcome)); }
    if (form === signature) pad?.wipe();
    offerBatches();
    remember();
    tick();
  }).then(() => { form.dataset.ready = "yes"; });
}
look?.addEventListener("input", () => { look.dataset.typed = "1"; tick(); });

function restoreDone(told) {
  for (const [name, outcome] of Object.entries(told || {})) {
    const step = document.getElementById(name)?.closest("li");
    if (step && !step.dataset.done) { step.dataset.done = outcome; done[name] = outcome; }
  }
}

async function begin() {
  const before = await kept(KEPT);
  for (const one of before?.batches || []) if (!batches.some((known) => known.id === one.id)) batches.push(one);
  const since = looks.length ? Date.parse(looks.at(-1).at) : 0;
  looks = [...looks, ...(before?.looks || []).filter((one) => Date.parse(one.at) > since + 1000)];
  restoreDone(before?.done);
  offerBatches();
  follow(facts.screen);
  tick();
  setInterval(tick, 1000);
  flush();
}
begin();
