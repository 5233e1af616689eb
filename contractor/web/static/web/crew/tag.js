// A unit by its tag: typed, or scanned where the browser can; and the urgent visit that it opens.

import { say, wire } from "./forms.js";
import { events } from "./outbox.js";
import { kept } from "./store.js";

const form = document.getElementById("tag"), camera = document.getElementById("camera"), scan = document.getElementById("scan");
const codeIn = (text) => decodeURIComponent(text.match(/\/t\/([^/?#]+)/)?.[1] || text).trim();

function open(code) {
  if (code) location.href = `/t/${encodeURIComponent(code)}/`;
  else say(form, "Type the code, or scan the tag.", "bad");
}
form.addEventListener("submit", (event) => { event.preventDefault(); open(codeIn(form.elements.code.value)); });

async function look() {
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  camera.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  camera.hidden = false;
  await camera.play();
  say(form, "Hold the tag before the camera.");
  for (;;) {
    const [found] = await detector.detect(camera);
    if (found) return open(codeIn(found.rawValue));
    await new Promise((go) => setTimeout(go, 200));
  }
}
if ("BarcodeDetector" in window && navigator.mediaDevices) {
  scan.hidden = false;
  scan.addEventListener("click", () => look().catch(() => say(form, "The camera cannot be used: type the code.", "bad")));
}

const urgent = document.getElementById("urgent"), opened = document.getElementById("opened");
function build(values, draft) {
  const tag = codeIn(values.tag);
  if (!tag) throw { field: urgent.elements.tag, words: "Type the code exactly as on the unit." };
  const id = (draft.ids.visit ??= crypto.randomUUID());
  const body = { id, tag, opened_at: new Date().toISOString(), notes: values.notes };
  return [{ what: `Urgent visit at ${tag}`, path: "/api/v1/visits/urgent/", body, makes: id }];
}

function link(address, words) {
  opened.replaceChildren(Object.assign(document.createElement("a"), { href: address, textContent: words, className: "button wide" }));
  opened.hidden = false;
}

wire(urgent, "urgent", build, async ([row]) => {
  const { id, tag } = row.body;
  const known = (await kept("tags"))?.[tag.toUpperCase()];
  if (known) link(`/crew/units/${known}/?visit=${id}`, `Go to ${tag}`);
  const sent = (event) => event.detail.key === row.key && link(`/crew/visits/${id}/`, "The visit is open: go there");
  events.addEventListener("sent", sent);
  const already = await kept(`answer:${row.key}`);
  if (already) link(`/crew/visits/${id}/`, "The visit is open: go there");
});
