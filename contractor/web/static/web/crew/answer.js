// The answer to a reading, while one is still at the unit: what to do next and why not acid yet, before any number.

import { events, state } from "./outbox.js";
import { kept } from "./store.js";

const ASK_MS = 500, LONGEST_MS = 120000;
const pause = (ms) => new Promise((go) => setTimeout(go, ms));

function part(kind, words, className = "") {
  return Object.assign(document.createElement(kind), { textContent: words, className });
}

function list(title, items) {
  if (!items.length) return [];
  const rows = Object.assign(document.createElement("ul"), { className: "plainly" });
  rows.append(...items.map((words) => part("li", words)));
  return [part("h3", title), rows];
}

// As everywhere: a sign and words, and colour that repeats them.
const VERDICT = { fouled: ["act", "Fouled beyond its limit"], clean: ["good", "Within its limit"], undecided: ["unknown", "Cannot tell yet"] };

function verdict(said) {
  const [kind, words] = VERDICT[said.verdict] || VERDICT.undecided, line = part("p", "", "verdict"), status = part("span", "", `status status-${kind}`);
  const sign = part("span", "", "sign");
  sign.setAttribute("aria-hidden", "true");
  status.append(sign, words);
  line.append(status, " ", part("span", said.likely, "small"));
  return line;
}

// Unless a later entry is followed in its place by now.
function mark(out, name, id) {
  if (out.parentElement) out.parentElement.dataset[name] = id;
}

function place() {
  const made = document.createElement("div");
  made.dataset.causes = "";
  return made;
}

export function shown(said, warnings) {
  return [
    part("h2", "Do this next"),
    part("p", said.do_next, "next"),
    verdict(said),
    ...(said.excess ? [part("p", said.excess)] : []),
    place(),
    ...list("Please look again", warnings.map((each) => each.text)),
    ...list("What to know about the number", said.warnings),
  ];
}

const told = (reading) => `/crew/readings/${reading}/told/`;

async function get(path) {
  const answer = await fetch(path, { headers: { Accept: "application/json" }, cache: "no-store" });
  return [answer.status, await answer.json()];
}

async function wait(item, out) {
  const until = Date.now() + LONGEST_MS;
  while (Date.now() < until) {
    const [status, work] = await get(item);
    if (status === 200 && work.state === "done") return "";
    if (status === 200 && work.state === "failed") return work.problem?.detail || "The assessment failed; the office sees it.";
    out.querySelector(".progress").textContent = work.progress?.words || (work.state === "running" ? "Being assessed…" : "Waits for its turn…");
    await pause(ASK_MS);
  }
  return "The assessment takes long. The readings are safe; look at the unit's page later.";
}

// The ranking comes from the same worker a moment later, and its word on what to do next stands.
async function causes(reading, out) {
  const until = Date.now() + LONGEST_MS, items = `/api/v1/work-items/?kind=rank&subject=${reading}`;
  for (;;) {
    const [status, said] = await get(items), [item] = said.results || [];
    if (status !== 200 || !item || item.state === "failed" || Date.now() > until) return;
    if (item.state === "done") break;
    await pause(ASK_MS);
  }
  const [, { ranking: said }] = await get(told(reading));
  if (!said) return;
  out.querySelector(".next").textContent = said.do_next;
  const place = out.querySelector("[data-causes]");
  if (said.why_not_chemical) place.append(part("h3", "Why not acid yet"), part("p", said.why_not_chemical));
  if (said.reopened) place.append(part("p", said.reopened));
  place.append(...list("Most likely causes", said.causes));
  place.append(...list("Cannot be told apart", said.cannot_tell_apart));
  mark(out, "ranked", reading);
}

async function tell(said, out) {
  try {
    const problem = said.work_item ? await wait(said.work_item, out) : "";
    if (problem) return out.replaceChildren(part("p", problem, "said bad"), ...list("Please look again", said.warnings.map((w) => w.text)));
    const [, { assessment }] = await get(told(said.id));
    out.replaceChildren(...shown(assessment, said.warnings || []));
    mark(out, "answered", said.id);
    await causes(said.id, out);
  } catch {
    out.replaceChildren(part("p", "The readings are sent. No signal for the answer: it is on the unit's page later.", "said"));
  }
}

// Shows the state of one saved entry until its answer is there.
export async function follow(key, place) {
  const out = document.createElement("div");
  place.hidden = false;
  delete place.dataset.answered;
  place.replaceChildren(out);
  const line = part("p", "Kept on this phone. Sending…", "progress");
  out.replaceChildren(line);
  const lost = () => { if (!state.reached) line.textContent = "Kept on this phone. No signal: it is sent later, and the answer comes then."; };
  events.addEventListener("count", lost);
  const met = async (said) => {
    events.removeEventListener("sent", heard);
    events.removeEventListener("count", lost);
    events.removeEventListener("refused", refused);
    await tell(said, out);
  };
  const heard = (event) => event.detail.key === key && met(event.detail.said);
  const refused = (event) => {
    if (event.detail.key !== key) return;
    out.replaceChildren(part("p", `Not taken: ${event.detail.reason}`, "said bad"),
      Object.assign(document.createElement("a"), { href: "/crew/unsent/", textContent: "Mend it" }));
  };
  events.addEventListener("sent", heard);
  events.addEventListener("refused", refused);
  const already = await kept(`answer:${key}`);
  if (already) met(already.said);
}
