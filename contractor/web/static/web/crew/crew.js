// On every page: what is not sent, today's pages on the phone, and a sign-out that forgets nobody's work.

import { begin, events, state, who } from "./outbox.js";
import { json } from "./forms.js";
import { keep, tidy } from "./store.js";

const bar = document.getElementById("unsent");

function words() {
  const parts = [];
  if (state.waiting) parts.push(`${state.waiting} not sent`);
  if (state.refused) parts.push(`${state.refused} to mend`);
  if (!parts.length) return "Everything is sent";
  if (state.signedOut) parts.push("sign in to send");
  else if (!state.reached) parts.push("no signal, kept on this phone");
  return parts.join(" · ");
}

function show() {
  bar.textContent = words();
  bar.dataset.count = String(state.waiting + state.refused);
  bar.href = state.signedOut ? `/sign-in/?next=${encodeURIComponent(location.pathname)}` : "/crew/unsent/";
}
events.addEventListener("count", show);

// What is read is filed by this phone's clock.
const OFF_MIN = 10;
events.addEventListener("clock", ({ detail }) => Math.abs(detail) > OFF_MIN && import("./clock.js").then((it) => it.tell(detail)));
begin();
tidy().catch(() => {});
if (json("tags")) keep("tags", json("tags"));

document.querySelector("form[action='/sign-out/']")?.addEventListener("submit", (event) => {
  const open = state.waiting + state.refused;
  const ask = `${open} not sent yet. They stay on this phone, hidden, until you sign in again. Sign out?`;
  if (open && !confirm(ask)) event.preventDefault();
});

// The worker keeps this page, if there is one yet; from the list of visits all of today's come along.
const kept = !!navigator.serviceWorker?.controller, listed = document.getElementById("brought");
const bringing = () => import("./bringing.js");
async function bring() {
  if (listed) return (await bringing()).bring(listed);
  if (json("bring")) return (await bringing()).missing();
  if (!kept) await fetch(location.pathname, { headers: { Accept: "text/html" }, redirect: "manual" });
}

async function offline() {
  if (!("serviceWorker" in navigator)) return;
  await navigator.serviceWorker.register("/worker.js");
  await navigator.serviceWorker.ready;
  if (!navigator.serviceWorker.controller) {
    await new Promise((met) => navigator.serviceWorker.addEventListener("controllerchange", met, { once: true }));
  }
  navigator.storage?.persist?.();
  who().catch(() => {});
  await bring();
}
if (navigator.onLine) offline().catch(() => {});
else if (listed) bringing().then((it) => it.away(listed));
