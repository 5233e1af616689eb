// What was found on a unit, or could not be done; with a photo if there is one.

import { id, json, visit, wire } from "./forms.js";
import "./here.js";

const facts = json("facts"), states = json("states"), form = document.getElementById("finding");
const kind = form.elements.kind, value = form.elements.value;

function choices() {
  const known = states[kind.value] || [];
  value.closest(".field").hidden = !known.length;
  const kept = value.value;
  value.replaceChildren(...known.map((word) => new Option(word.replaceAll("_", " "), word)));
  if (known.includes(kept)) value.value = kept;
  form.elements.brought.closest(".field").hidden = !facts.brings.includes(kind.value);
}

function build(values, draft) {
  if (!visit) throw { words: "No visit is open here. Come by a visit of yours, or open an urgent one by the tag." };
  if (kind.value === "could_not_do" && !values.note.trim()) throw { field: form.elements.note, words: "Say why it could not be done." };
  if (kind.value === "photo" && !draft.photo) throw { field: document.getElementById("photo"), words: "Take or choose a photo first." };
  const finding = id(draft, "finding"), found_at = (draft.ids.at ??= new Date().toISOString());
  const body = { id: finding, visit, unit: facts.unit, kind: values.kind, value: value.closest(".field").hidden ? "" : values.value, note: values.note, found_at };
  if (values.brought && facts.brings.includes(values.kind)) body.brought = values.brought;
  if (values.exchanger) body.exchanger = values.exchanger;
  const what = `${kind.selectedOptions[0].text}: ${facts.tag}`;
  const posts = [{ what, path: "/api/v1/findings/", body, makes: finding, needs: [visit] }];
  if (draft.photo) posts.push({ what: `Photo of ${facts.tag}`, path: `/api/v1/findings/${finding}/photo/`, photo: draft.photo, needs: [visit, finding] });
  return posts;
}

document.querySelector("[data-no-visit]").hidden = !!visit;
kind.addEventListener("change", choices);
wire(form, `finding:${facts.unit}:${visit}`, build, choices).then(() => { choices(); form.dataset.ready = "yes"; });
