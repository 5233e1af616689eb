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

const VERDICT = { fouled: "Fouled beyond its limit", clean: "Within its limit", undecided: "Cannot tell yet" };

// Never 0 or 100 %: no reading can tell that.
function chance(sure) {
  if (sure > 0.99) return "> 99 %";
  return sure < 0.01 ? "< 1 %" : `${Math.round(sure * 100)} %`;
}

function verdict(said) {
  const sure = said.probability_over_limit;
  const share = sure === null || sure === undefined ? "" : `: ${chance(sure)} likely beyond the limit`;
  return `${VERDICT[said.verdict] || said.verdict}${share}`;
}

// The heading above says the first word already.
function headed(sentence) {
  const plain = sentence.replace(/^(Next|Not acid): /, "");
  return plain[0].toUpperCase() + plain.slice(1);
}

function place() {
  const made = document.createElement("div");
  made.dataset.causes = "";
  return made;
}

// Differences in the unit that temperatures were typed in.
function apart(kelvin) {
  const unit = document.querySelector("[name=entering_water_unit]")?.value;
  return unit === "degF" ? `${(kelvin * 1.8).toFixed(1)} °F` : `${kelvin.toFixed(1)} K`;
}

export function shown(said, warnings) {
  const excess = said.excess_approach_k;
  const figures = excess
    ? [part("p", `Approach above that of the clean unit: ${apart(excess.value)} (95 %: ${apart(excess.low)} to ${apart(excess.high)})`)]
    : [];
  return [
    part("h2", "Do this next"),
    part("p", headed(said.do_next), "next"),
    part("p", verdict(said), `verdict verdict-${said.verdict}`),
    ...figures,
    place(),
    ...list("Please look again", warnings.map((each) => each.text)),
    ...list("What to know about the number", said.warnings.map((each) => each.text)),
  ];
}

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

const plain = (name) => { const words = name.replaceAll("_", " "); return words[0].toUpperCase() + words.slice(1); };
const likely = (each) => `${plain(each.cause)}: ${chance(each.probability)}${each.reasons.length ? `. ${each.reasons[0]}` : ""}`;

// The ranking comes from the same worker a moment later, and its word on what to do next stands.
async function causes(reading, out) {
  const until = Date.now() + LONGEST_MS, items = `/api/v1/work-items/?kind=rank&subject=${reading}`;
  for (;;) {
    const [status, said] = await get(items), [item] = said.results || [];
    if (status !== 200 || !item || item.state === "failed" || Date.now() > until) return;
    if (item.state === "done") break;
    await pause(ASK_MS);
  }
  const [, said] = await get(`/api/v1/readings/${reading}/ranking/`);
  out.querySelector(".next").textContent = headed(said.do_next);
  const place = out.querySelector("[data-causes]");
  if (said.why_not_chemical) place.append(part("h3", "Why not acid yet"), part("p", headed(said.why_not_chemical)));
  if (said.reopened) place.append(part("p", said.reopened));
  place.append(...list("Most likely causes", said.causes.slice(0, 4).map(likely)));
  place.append(...list("Cannot be told apart", said.cannot_tell_apart.map((each) => each.words)));
  out.dataset.ranked = reading;
}

async function tell(said, out) {
  try {
    const problem = said.work_item ? await wait(said.work_item, out) : "";
    if (problem) return out.replaceChildren(part("p", problem, "said bad"), ...list("Please look again", said.warnings.map((w) => w.text)));
    const [, told] = await get(`/api/v1/readings/${said.id}/assessment/`);
    out.replaceChildren(...shown(told, said.warnings || []));
    out.dataset.answered = said.id;
    await causes(said.id, out);
  } catch {
    out.replaceChildren(part("p", "The readings are sent. No signal for the answer: it is on the unit's page later.", "said"));
  }
}

// Shows the state of one saved entry until its answer is there.
export async function follow(key, out) {
  out.hidden = false;
  delete out.dataset.answered;
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
