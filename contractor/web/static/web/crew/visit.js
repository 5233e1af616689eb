// Arriving, and signing off: a name, a signature drawn or the name confirmed as it if one likes, and the visit is finished.

import { id, json, say, wire } from "./forms.js";
import { events, save } from "./outbox.js";
import { drawing } from "./pad.js";
import { answers, entries } from "./store.js";

const { visit, site, units, read } = json("facts");
const now = () => new Date().toISOString();

document.getElementById("start")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { path, what } = event.target.dataset;
  await save([{ what, path, body: { at: now() }, needs: [visit] }], null, location.pathname);
  say(event.target, "Noted.", "good");
});

// Which units are read already on this visit: as the service knew, and what this phone saved since.
async function mark() {
  const here = [...(await entries()), ...(await answers())].filter((one) => one.path === "/api/v1/readings/");
  const ours = here.map((one) => one.body || one.said).filter((one) => one.visit === visit);
  const done = new Set([...read, ...ours.map((one) => one.exchanger)]);
  for (const place of document.querySelectorAll("[data-read]")) {
    const all = units[place.dataset.read], those = all.filter((id) => done.has(id)).length;
    place.hidden = !those;
    place.textContent = those === all.length ? "Read on this visit" : `${those} of ${all.length} circuits read on this visit`;
  }
}
events.addEventListener("sent", mark);
mark();

const form = document.getElementById("sign-off");
const pad = form && drawing(document.getElementById("pad"));

function build(values, draft) {
  const name = values.name.trim();
  const said = values.note.trim();
  if (values.typed && !name) throw { field: form.elements.name, words: "Type the name that stands for the signature." };
  if (!name && !said) throw { field: form.elements.name, words: "Type the name of who signs; or say below why nobody does." };
  const finding = id(draft, "finding"), bytes = values.typed ? null : pad.picture();
  const how = values.typed ? ", whose typed name stands for the signature" : "";
  const note = [name ? `Signed off by ${name}${how}.` : "Nobody signed.", said].filter(Boolean).join(" ");
  const body = { id: finding, visit, kind: bytes ? "photo" : "note", note, found_at: now() };
  const posts = [{ what: `Sign-off at ${site}`, path: "/api/v1/findings/", body, makes: finding, needs: [visit] }];
  if (bytes) {
    const photo = { name: "signature.png", type: "image/png", bytes };
    posts.push({ what: `Signature at ${site}`, path: `/api/v1/findings/${finding}/photo/`, photo, needs: [visit, finding] });
  }
  posts.push({ what: `End of the visit at ${site}`, path: `/api/v1/visits/${visit}/finish/`, body: { at: now() }, needs: [visit] });
  return posts;
}
if (form) wire(form, `sign-off:${visit}`, build, () => pad.wipe()).then(() => { form.dataset.ready = "yes"; });
