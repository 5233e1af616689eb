// Arriving, and signing off: a name, a signature drawn with a finger if one likes, and the visit is finished.

import { id, json, say, wire } from "./forms.js";
import { save } from "./outbox.js";

const { visit, site } = json("facts");
const now = () => new Date().toISOString();

document.getElementById("start")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { path, what } = event.target.dataset;
  await save([{ what, path, body: { at: now() }, needs: [visit] }], null, location.pathname);
  say(event.target, "Noted.", "good");
});

function drawing(pad) {
  const pen = pad.getContext("2d");
  let drawn = false, last = null;
  Object.assign(pen, { lineWidth: 4, lineCap: "round", strokeStyle: "#111" });
  const wipe = () => { pen.fillStyle = "#fff"; pen.fillRect(0, 0, pad.width, pad.height); drawn = false; };
  const at = (event) => {
    const box = pad.getBoundingClientRect();
    return [((event.clientX - box.left) * pad.width) / box.width, ((event.clientY - box.top) * pad.height) / box.height];
  };
  pad.addEventListener("pointerdown", (event) => { pad.setPointerCapture(event.pointerId); last = at(event); });
  pad.addEventListener("pointermove", (event) => {
    if (!last) return;
    const to = at(event);
    pen.beginPath(); pen.moveTo(...last); pen.lineTo(...to); pen.stroke();
    last = to; drawn = true;
  });
  const lift = () => { last = null; };
  pad.addEventListener("pointerup", lift);
  pad.addEventListener("pointercancel", lift);
  document.getElementById("pad-clear").addEventListener("click", wipe);
  wipe();
  return { wipe, picture: () => (drawn ? bytesOf(pad.toDataURL("image/png")) : null) };
}

function bytesOf(address) {
  const text = atob(address.split(",")[1]), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i += 1) bytes[i] = text.charCodeAt(i);
  return bytes.buffer;
}

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
