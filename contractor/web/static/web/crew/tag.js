// A unit by its tag: typed, or scanned where the browser can; and the urgent visit that it opens.

import { fill, say, valuesOf, wire } from "./forms.js";
import { events } from "./outbox.js";
import { minusKeys } from "./minus.js";
import { draftOf, drafts, entries, keepDraft, kept } from "./store.js";

const form = document.getElementById("tag"), camera = document.getElementById("camera"), scan = document.getElementById("scan");
const codeIn = (text) => decodeURIComponent(text.match(/\/t\/([^/?#]+)/)?.[1] || text).trim();

const known = async (tag) => (await kept("tags"))?.[tag.toUpperCase()];

// A unit of today's visits opens at once; of any other the service has to tell.
async function open(code) {
  if (!code) return say(form, "Type the code, or scan the tag.", "bad");
  const here = await known(code);
  location.href = here ? `/crew/units/${here.unit}/?visit=${here.visit}` : `/t/${encodeURIComponent(code)}/`;
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

// The code is typed once: the urgent visit's field goes along until something else is typed there.
form.elements.code.addEventListener("input", () => {
  if (!urgent.dataset.own) urgent.elements.tag.value = form.elements.code.value;
});
urgent.elements.tag.addEventListener("input", () => { urgent.dataset.own = "yes"; });

function link(address, words) {
  opened.replaceChildren(Object.assign(document.createElement("a"), { href: address, textContent: words, className: "button wide" }));
  opened.hidden = false;
}

wire(urgent, "urgent", build, async ([row]) => {
  const { id, tag } = row.body;
  const here = await known(tag);
  if (here) link(`/crew/units/${here.unit}/?visit=${id}`, `Go to ${tag}`);
  else await before(tag.toUpperCase(), id);
  const sent = (event) => event.detail.key === row.key && link(`/crew/visits/${id}/`, "The visit is open: go there");
  events.addEventListener("sent", sent);
  const already = await kept(`answer:${row.key}`);
  if (already) link(`/crew/visits/${id}/`, "The visit is open: go there");
});

// What is read before the phone knows the unit: a draft under the tag, kept at each keystroke.
const early = document.getElementById("early");
const showMinus = minusKeys(early.querySelectorAll("[data-kind]"), (field) => early.elements[`${field.name}_unit`].value);
early.addEventListener("input", showMinus);
async function before(tag, id) {
  const name = `early:${tag}`, old = await draftOf(name);
  const draft = { form: name, ids: { visit: id }, at: new Date().toISOString(), page: "/crew/tag/", ...old };
  early.reset();
  fill(early, old?.values || {});
  showMinus();
  early.hidden = false;
  document.getElementById("early-h").textContent = `Readings of ${tag}, before the unit is known`;
  early.oninput = async () => {
    await keepDraft({ ...draft, values: valuesOf(early) });
    say(early, `Kept on this phone for ${tag}.`, "good");
  };
}

// Back on this page: what was begun is there, and the visit when it is open.
async function again() {
  const open = (await drafts()).filter((draft) => draft.form.startsWith("early:")).at(-1);
  if (!open) return;
  await before(open.form.slice("early:".length), open.ids.visit);
  const there = () => link(`/crew/visits/${open.ids.visit}/`, "The visit is open: go there");
  events.addEventListener("sent", ({ detail: { said } }) => said.id === open.ids.visit && there());
  const waits = (await entries()).some((row) => row.makes === open.ids.visit);
  if (!waits) there();
}
again();

// A tag scanned without a signal comes here with its code.
async function scanned() {
  const code = decodeURIComponent(location.hash.slice(1));
  if (!code) return;
  if (await known(code)) return open(code);
  form.elements.code.value = urgent.elements.tag.value = code;
  say(form, `${code} is not among today's units. A call-out that cannot wait is opened below; without a signal it waits on this phone and goes by itself.`, "bad");
}
scanned();
