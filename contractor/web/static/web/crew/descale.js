// A descale, one screen at a time: checks before acid, the dose and its clock, looks at the tank, the end.

import { id, json, made, valuesOf, wire } from "./forms.js";
import { hours, momentOf } from "./moments.js";
import { number } from "./number.js";
import { events, flush } from "./outbox.js";
import { entries, keep, kept } from "./store.js";
import { follow } from "./screens.js";
import { asks, clock, nextLook, stops } from "./stop.js";
import "./here.js";

const facts = json("facts"), KEPT = `descale:${facts.descale}`;
let batches = facts.batches, looks = facts.looks, done = {}, due = { ...facts.due, looks: looks.length };

// what a form holds, as the API takes it
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

const byTime = (one, other) => Date.parse(one.at) - Date.parse(other.at);
const running = () => batches.filter((one) => !one.out_at).at(-1);
const ofBatch = (batch) => looks.filter((look) => batch && Date.parse(look.at) >= Date.parse(batch.at));
const remember = () => keep(KEPT, { batches, looks, done });

function tellOffline(typed) {
  const batch = running(), seen = [...ofBatch(batch), ...(typed ? [typed] : [])];
  const { colour } = looks.filter((one) => batch && one.colour && !seen.includes(one)).at(-1) || {};
  const found = stops({ ...facts.limits, ...batch?.limits }, batch, seen, Date.now(), colour);
  const out = document.getElementById("stop");
  out.hidden = !found.length;
  const words = found.map((one) => made("p", `${one.words} ${one.what}`));
  if (found.length) words.unshift(made("h2", "Stop"));
  if (out.textContent !== words.map((one) => one.textContent).join("")) out.replaceChildren(...words);
  document.getElementById("ask").textContent = asks(seen).join(" ");
  return found;
}

// As the service said, unless a look was taken since; else by the usual times.
function nextDue(batch) {
  return due.look_at && due.looks === looks.length ? Date.parse(due.look_at) : nextLook(batch, ofBatch(batch));
}

function tick() {
  for (const one of document.querySelectorAll("[data-clock]")) one.querySelector("strong").textContent = clock(Date.parse(one.dataset.clock) - Date.now());
  const batch = running(), out = document.getElementById("clock");
  out.hidden = !batch;
  const typed = look.dataset.typed && tank ? tank.siLook(valuesOf(look)) : null;
  if (!batch) return void tellOffline(batches.length ? null : typed); // what stopped a bath is over once it is out
  const left = Date.parse(batch.out_by) - Date.now(), until = nextDue(batch) - Date.now();
  const by = hours(batch.out_by), titrate = due.titrate_by && due.looks === looks.length ? `; titrate by ${hours(due.titrate_by)}` : "";
  const put = (name, words) => { out.querySelector(`[data-${name}]`).textContent = words; };
  put("left", left < 0 ? clock(left) : `${clock(left)} left`);
  put("by", `Out by ${by}`);
  put("next", (until <= 0 ? "Next look: now" : `Next look in ${clock(until)}`) + titrate);
  tellOffline(typed);
}

events.addEventListener("sent", ({ detail: { path, said } }) => {
  if (!path.includes(facts.descale)) return;
  import("./told.js").then((it) => it.doNow(said.do_now || []));
  import("./standing.js").then((it) => it.askSoon(facts, () => looks.length, (found) => { due = found; tick(); }));
  if (/looks\/$/.test(path)) document.querySelector("[data-verdict]")?.remove();
  if (said.record?.out_by) {
    const mine = (one) => one.id === said.record.id;
    batches = [...batches.filter((one) => !mine(one)), { ...batches.find(mine), ...said.record }];
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

// what only one screen needs: its further posts, what is shown once it is kept
const SCREENS = {
  tank: () => import("./tank.js"), dose: () => import("./mixing.js"),
  sign: () => import("./signing.js"), waste: () => import("./letting_out.js"),
};
const OWN = { look: SCREENS.tank, batch: SCREENS.dose, signature: SCREENS.sign };
const NOT_WHOLE = { words: "This screen is not whole on this phone. What you typed is kept: open the page again with a signal." };
const ownOf = async (form) => ((await OWN[form.id]?.().catch(() => { throw NOT_WHOLE; })) || {});
const look = document.getElementById("look");
let tank = null;
async function forScreen() {
  const part = await SCREENS[location.hash.slice(1) || facts.screen]?.();
  if (part?.siLook) tank = part;
}
addEventListener("hashchange", forScreen);
forScreen();

// every form goes the same way
for (const form of document.querySelectorAll("form[data-send]")) {
  const name = form.dataset.what, path = `/api/v1/descales/${facts.descale}/${form.dataset.send}/`;
  wire(form, `descale:${facts.descale}:${form.id}`, async (values, draft) => {
    const body = bodyOf(form, values, draft), needs = [body.batch, body.held].filter(Boolean);
    const more = (await (await ownOf(form)).beside?.(body, draft, facts)) || [];
    return [{ what: `${name}: ${facts.tag}`, path, body, makes: body.id, needs }, ...more];
  }, async (rows, values) => {
    const { body } = rows[0], own = await ownOf(form);
    if (form === look) { looks = [...looks, own.siLook(values)].sort(byTime); delete form.dataset.typed; }
    if (own.started) batches = own.started(batches, body, facts.labels);
    if (form.dataset.send === "batch-out" || body.kind === "drained") batches = batches.map((one) => ({ ...one, out_at: one.out_at || body.at }));
    own.kept?.(form, body, values, batches.length);
    if (values.vent_at_both_tops) import("./reversing.js").then((it) => it.mayReverse(values.vent_at_both_tops === "true"));
    if ("check" in form.dataset) { done[form.id] = values.outcome; import("./steps.js").then((it) => it.recorded(form.closest("li"), values.outcome)); }
    offerBatches();
    remember();
    tick();
  }).then(({ restored }) => { if (restored) form.dataset.typed = "1"; form.dataset.ready = "yes"; });
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
  for (const one of before?.batches || []) {
    const known = batches.find((other) => other.id === one.id);
    if (known) known.out_at ||= one.out_at; else batches.push(one);
  }
  for (const { path, body } of await entries()) { // killed before it was remembered
    if (path.endsWith(`${facts.descale}/batches/`) && !batches.some((one) => one.id === body.id)) batches = (await SCREENS.dose()).started(batches, body, facts.labels);
  }
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
