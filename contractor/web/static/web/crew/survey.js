// The survey: one short row a unit, each saved by itself.

import { id, json, wire } from "./forms.js";
import { number } from "./number.js";
import { follow } from "./answer.js";
import { minusKeys } from "./minus.js";

const facts = json("facts"), { visit } = facts, shared = document.getElementById("shared").elements;
const unitOf = (kind) => (kind === "temperature" ? shared.temperature_unit.value : shared.pressure_unit.value);

function reading(row, values, draft) {
  const as_typed = {};
  for (const field of row.querySelectorAll("[data-kind]")) {
    const text = values[field.name].trim();
    if (!text) continue;
    if (number(text) === null) throw { field, words: `${text} is not one number.` };
    as_typed[field.name] = { value: text, unit: unitOf(field.dataset.kind) };
  }
  if (!Object.keys(as_typed).length) return null;
  const taken_at = (draft.ids.taken_at ??= new Date().toISOString());
  const mode = ["both", shared.mode.value].includes(row.dataset.modes) ? shared.mode.value : row.dataset.modes;
  return { id: id(draft, "reading"), visit, exchanger: row.dataset.exchanger, mode, taken_at, as_typed };
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

const showMinus = minusKeys(document.querySelectorAll("form.survey [data-kind]"), (field) => unitOf(field.dataset.kind));
document.getElementById("shared").addEventListener("input", showMinus);
for (const row of document.querySelectorAll("form.survey")) {
  const out = Object.assign(document.createElement("div"), { hidden: true, className: "small" });
  row.append(out);
  wire(row, `survey:${row.dataset.exchanger}:${visit}`, builder(row), (rows) => {
    const sent = rows.find((one) => one.path === "/api/v1/readings/");
    if (sent) follow(sent.key, out);
  }).then(() => { row.dataset.ready = "yes"; });
}
