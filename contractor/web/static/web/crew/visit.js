// Arriving, and signing off: a name, a signature drawn with a finger if one likes, and the visit is finished.

import { id, json, say, wire } from "./forms.js";
import { save } from "./outbox.js";
import { drawing } from "./pad.js";

const { visit, site } = json("facts");
const now = () => new Date().toISOString();

document.getElementById("start")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { path, what } = event.target.dataset;
  await save([{ what, path, body: { at: now() }, needs: [visit] }], null, location.pathname);
  say(event.target, "Noted.", "good");
});

const form = document.getElementById("sign-off");
const pad = form && drawing(document.getElementById("pad"));

function build(values, draft) {
  const name = values.name.trim();
  if (!name) throw { field: form.elements.name, words: "Type the name of who signs; or say why nobody does." };
  const finding = id(draft, "finding"), bytes = pad.picture();
  const note = [`Signed off by ${name}.`, values.note.trim()].filter(Boolean).join(" ");
  const body = { id: finding, visit, kind: bytes ? "photo" : "note", note, found_at: now() };
  const posts = [{ what: `Sign-off at ${site}`, path: "/api/v1/findings/", body, makes: finding, needs: [visit] }];
  if (bytes) {
    const photo = { name: "signature.png", type: "image/png", bytes };
    posts.push({ what: `Signature at ${site}`, path: `/api/v1/findings/${finding}/photo/`, photo, needs: [visit, finding] });
  }
  posts.push({ what: `End of the visit at ${site}`, path: `/api/v1/visits/${visit}/finish/`, body: { at: now() }, needs: [visit] });
  return posts;
}
if (form) wire(form, `sign-off:${visit}`, build, () => pad.wipe());
