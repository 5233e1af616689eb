// How long what is not sent has waited, when something was sent last, and whether this browser promised to keep it.

import { entries, person, within } from "./store.js";

const LONG_MS = 3 * 24 * 3600 * 1000;
const day = (at, more) => new Date(at).toLocaleString(document.documentElement.lang, { weekday: "long", day: "numeric", month: "long", ...more });

export async function tellLong() {
  const oldest = Math.min(...(await entries()).map((row) => Date.parse(row.made_at))), out = document.getElementById("waits-long");
  out.hidden = !(Date.now() - oldest > LONG_MS);
  if (!out.hidden) out.textContent = `Something saved on ${day(oldest)} is still only on this phone. Find a signal, or keep it all as a file.`;
}

export async function tellLast(out) {
  const kept = await within(["kept"], "readonly", (rows) => rows.getAll());
  const sent = kept.filter((row) => row.person === person && row.name.startsWith("answer:")).map((row) => row.at);
  out.textContent = sent.length ? `Last sent: ${day(Math.max(...sent), { hour: "2-digit", minute: "2-digit" })}.` : "Nothing was sent from this phone in the last three days.";
}

export async function tellSafe(out) {
  const promised = await navigator.storage?.persisted?.();
  out.textContent = promised
    ? "This browser has promised to keep what is here until it is sent."
    : "This browser has not promised to keep what is here: it may clear it when the phone runs out of room, or when these pages are not opened for a week. Add them to the home screen (in the browser's menu), and send soon.";
}
