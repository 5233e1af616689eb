// The survey: one short row a unit, each saved by itself.

import { fill, id, json, valuesOf, wire } from "./forms.js";
import { number } from "./number.js";
import { follow } from "./answer.js";
import { minusKeys } from "./minus.js";
import { keep, kept } from "./store.js";

const facts = json("facts"), { visit } = facts, sheet = document.getElementById("shared"), shared = sheet.elements;
const rows = [...document.querySelectorAll("form.survey")], fields = document.querySelectorAll("form.survey [data-kind]");
const SHARED = ["mode", "temperature_unit", "pressure_unit"], KEPT = `survey:${visit}`;
const unitOf = (field) => field.form.elements[field.dataset.kind === "temperature" ? "temperature_unit" : "pressure_unit"].value;
const modeOf = (row) => (["both", row.elements.mode.value].includes(row.dataset.modes) ? row.elements.mode.value : row.dataset.modes);

// A row keeps with its draft what its numbers were read in: that is what it is sent in, whatever stands above by then.
for (const row of rows) row.append(...SHARED.map((name) => Object.assign(document.createElement("input"), { name, hidden: true })));
const showMinus = minusKeys(fields, unitOf);
function tell(row) {
  const words = (name) => [...shared[name].options].find((one) => one.value === row.elements[name].value)?.textContent;
  row.querySelector("[data-in]").textContent = `${modeOf(row)[0].toUpperCase()}${modeOf(row).slice(1)}, ${words("temperature_unit")}, ${words("pressure_unit")}`;
  showMinus();
}
function follows(row) {
  for (const name of SHARED) row.elements[name].value = row.elements[name].defaultValue = shared[name].value;
  tell(row);
}
for (const row of rows) {
  row.addEventListener("restored", () => tell(row));
  row.addEventListener("reset", () => setTimeout(tell, 0, row));
}

function reading(row, values, draft) {
  const as_typed = {};
  for (const field of row.querySelectorAll("[data-kind]")) {
    const text = values[field.name].trim();
    if (!text) continue;
    if (number(text) === null) throw { field, words: `${text} is not one number.` };
    as_typed[field.name] = { value: text, unit: unitOf(field) };
  }
  if (!Object.keys(as_typed).length) return null;
  const taken_at = (draft.ids.taken_at ??= new Date().toISOString());
  return { id: id(draft, "reading"), visit, exchanger: row.dataset.exchanger, mode: modeOf(row), taken_at, as_typed };
}

function builder(row) {
  return (values, draft) => {
    const body = reading(row, values, draft), why = values.could_not_do.trim(), posts = [];
    if (body) posts.push({ what: `Survey of ${row.dataset.name}`, path: "/api/v1/readings/", body, makes: body.id, needs: [visit] });
    if (why) {
      const finding = id(draft, "finding");
      const said = { id: finding, visit, unit: facts.units[row.dataset.exchanger], kind: "could_not_do", note: why };
      posts.push({ what: `Could not do: ${row.dataset.name}`, path: "/api/v1/findings/", body: said, makes: finding, needs: [visit] });
    }
    if (!posts.length) throw { field: row.querySelector("input"), words: "Nothing is typed in this row yet." };
    return posts;
  };
}

sheet.addEventListener("input", () => {
  keep(KEPT, valuesOf(sheet));
  for (const row of rows) {
    const typed = [...row.elements].some((field) => !field.hidden && field.value);
    follows(row);
    if (typed) row.dispatchEvent(new Event("input"));
  }
});

// What is chosen above holds for every row, and is still chosen when the page comes back.
async function begin() {
  fill(sheet, (await kept(KEPT).catch(() => null)) || {});
  rows.forEach(follows);
  for (const row of rows) {
    const out = Object.assign(document.createElement("div"), { hidden: true, className: "small" });
    row.append(out);
    wire(row, `survey:${row.dataset.exchanger}:${visit}`, builder(row), (sent) => {
      const one = sent.find((post) => post.path === "/api/v1/readings/");
      if (one) follow(one.key, out);
    }).then(() => { row.dataset.ready = "yes"; });
  }
}
begin();
