// What is saved waits here and goes to the service in order, exactly once: its key is made when it is saved.

import { drafts, entries, person, within } from "./store.js";

const LATER = [408, 425, 429], WHO = "/crew/who/", LONGEST_WAIT_S = 60;
const TOO_LARGE = { detail: "This is larger than the service takes: a photo has at most 8 MB." };
const others = new BroadcastChannel("waterside-outbox");
export const events = new EventTarget();
export const state = { waiting: 0, refused: 0, signedOut: false, reached: true };
let failures = 0, timer, queued = false;

const tell = (name, detail) => events.dispatchEvent(new CustomEvent(name, { detail }));
others.onmessage = () => count();

export async function count() {
  const rows = await entries();
  state.refused = rows.filter((row) => row.state === "refused").length;
  state.waiting = rows.length - state.refused;
  tell("count", state);
}

// Keep posts and drop the draft they were typed in, in one transaction. Each post: {what, path, body or photo, makes, needs}.
export async function save(posts, draft, page) {
  const rows = posts.map((post) => ({
    key: crypto.randomUUID(), needs: [], ...post, person, page, draft, state: "waiting", made_at: new Date().toISOString(),
  }));
  await within(["outbox", "drafts"], "readwrite", (outbox, typed) => {
    rows.forEach((row) => outbox.add(row));
    if (draft) typed.delete([person, draft.form]);
  });
  await count();
  others.postMessage("saved");
  flush();
  return rows;
}

// The first that waits and needs nothing that is still to be made, be it unsent or being mended.
function next(rows, mending) {
  const unmade = new Set([...rows, ...mending].map((row) => row.makes).filter(Boolean));
  return rows.find((row) => row.state === "waiting" && !row.needs.some((id) => unmade.has(id))) ?? null;
}
const first = async () => next(await entries(), await drafts());

// Who is signed in, if it is still the person of this page; and by how many minutes this phone's clock is ahead.
export async function who() {
  const answer = await fetch(WHO, { cache: "no-store", redirect: "manual", headers: { Accept: "application/json" } });
  if (answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403) return null;
  if (!answer.ok) throw new Error(`who: ${answer.status}`);
  const said = await answer.json();
  tell("clock", Math.round((Date.now() - Date.parse(said.now)) / 60000));
  return said.person === person ? said : null;
}

function content(row) {
  if (!row.photo) return [JSON.stringify(row.body), { "Content-Type": "application/json" }];
  const form = new FormData();
  form.append("photo", new Blob([row.photo.bytes], { type: row.photo.type }), row.photo.name);
  return [form, {}];
}

async function send(row, csrf) {
  const [body, type] = content(row);
  const headers = { ...type, Accept: "application/json", "Idempotency-Key": `"${row.key}"`, "X-CSRFToken": csrf };
  const answer = await fetch(row.path, { method: "POST", headers, body, signal: AbortSignal.timeout(60000) });
  // a proxy's page instead of an answer: too large is said by the status, of all else nobody knows what happened
  const said = await answer.json().catch((error) => { if (answer.status !== 413) throw error; return TOO_LARGE; });
  if (answer.ok) return done(row, said);
  const running = answer.status === 409 && String(said.type).endsWith("still-running/");
  const stale = answer.status === 403 && String(said.detail).startsWith("CSRF");
  if (answer.status === 401) return "sign-in";
  if (answer.status >= 500 || LATER.includes(answer.status) || running || stale) {
    throw Object.assign(new Error(`later: ${answer.status}`), { wait: Number(answer.headers.get("Retry-After")) || 0 });
  }
  return refused(row, answer.status, said);
}

async function done(row, said) {
  const answer = { key: row.key, what: row.what, path: row.path, page: row.page, said };
  await within(["outbox", "kept"], "readwrite", (outbox, kept) => {
    outbox.delete(row.seq);
    kept.put({ person, name: `answer:${row.key}`, value: answer, at: Date.now() });
  });
  tell("sent", answer);
  return "sent";
}

async function refused(row, status, said) {
  const errors = (said.errors || []).map((error) => ({ pointer: error.pointer || "", detail: error.detail }));
  const reason = said.detail || said.title || `refused (${status})`;
  await within(["outbox"], "readwrite", (outbox) => outbox.put({ ...row, state: "refused", status, reason, errors }));
  tell("refused", { ...row, reason, errors });
  return "refused";
}

async function sendAll() {
  if (!(await first())) return;
  try {
    const me = await who();
    state.reached = true;
    state.signedOut = !me;
    for (let row; me && (row = await first());) {
      const outcome = await send(row, me.csrf);
      await count();
      others.postMessage(outcome);
      if (outcome === "sign-in") { state.signedOut = true; break; }
    }
    failures = 0;
  } catch (error) {
    failures += 1;
    state.reached = false;
    const wait = Math.max(error.wait || 0, Math.min(2 ** failures, LONGEST_WAIT_S));
    clearTimeout(timer);
    timer = setTimeout(flush, wait * 1000);
  }
  await count();
}

// One tab sends at a time; a call while one runs is run once more after it.
export function flush() {
  if (!person || queued) return;
  queued = true;
  navigator.locks.request("waterside-outbox", () => { queued = false; return sendAll(); });
}

export function begin() {
  addEventListener("online", flush);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && flush());
  setInterval(flush, 20000);
  count().then(flush);
}
