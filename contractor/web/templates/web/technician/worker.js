// Without a signal: today's pages as they were last seen, and the files they are made of. Never a write; of the API
// only labels and safety data sheets, which the crew's pages put beside themselves. A scanned tag opens the page that
// knows today's tags.
"use strict";
const SHELL = "shell-{{ version }}", PAGES = "pages-", PERSON = "Waterside-Person";
const FILES = [{% for file in files %}"{{ file|escapejs }}"{% if not forloop.last %}, {% endif %}{% endfor %}];
const SIGNS = ["{{ login|escapejs }}", "/sign-out/"], PATIENCE_MS = 4000;
const TAG = /^\/t\/(.+)\/$/, TAG_PAGE = "{% url 'web:crew-tag' %}", VISITS = "{% url 'web:crew' %}";
const NEVER_KEPT = /^\/crew\/(who|open-at\/[0-9a-f-]+|readings\/[0-9a-f-]+\/told)\/$/; // as the service says it now, or not at all
const PAPER = /^\/api\/v1\/cleaners\/[0-9a-f-]+\/(label|safety-sheet)\/$/;
const GONE = `<!DOCTYPE html><html lang="en-GB"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>No signal – Waterside</title><link rel="stylesheet" href="{% load static %}{% static 'web/waterside.css' %}">
<main><h1>No signal, and this page is not on the phone</h1><p>What you typed is kept. <a href="/crew/">Your visits</a> of today open without a signal.</p></main></html>`;

addEventListener("install", (event) => {
  const fresh = FILES.map((file) => new Request(file, { cache: "reload" }));
  event.waitUntil(caches.open(SHELL).then((shell) => shell.addAll(fresh)).then(() => skipWaiting()));
});

addEventListener("activate", (event) => {
  const old = (name) => name.startsWith("shell-") && name !== SHELL;
  event.waitUntil(drop(old).then(() => clients.claim()));
});

async function drop(chosen) {
  await Promise.all((await caches.keys()).filter(chosen).map((name) => caches.delete(name)));
}

const plain = (request) => request.url.split(/[?#]/)[0];

async function file(request) {
  return (await (await caches.open(SHELL)).match(plain(request))) || fetch(request);
}

// Kept for the person it was made for; whatever was kept for anyone else goes.
async function keep(request, answer) {
  const person = answer.headers.get(PERSON);
  if (!answer.ok || answer.redirected || !person) return;
  const mine = PAGES + person;
  await drop((name) => name.startsWith(PAGES) && name !== mine);
  await (await caches.open(mine)).put(plain(request), answer);
}

async function kept(request) {
  for (const name of await caches.keys()) {
    const found = name.startsWith(PAGES) && (await (await caches.open(name)).match(plain(request)));
    if (found) return found;
  }
  return null;
}

// The service's answer; after four seconds, or without any, what `instead` gives; without that too, patience.
async function answered(asked, instead) {
  const late = new Promise((_, no) => setTimeout(no, PATIENCE_MS, new Error("late")));
  try {
    const answer = await Promise.race([asked, late]);
    return (answer.status >= 500 && (await instead())) || answer;
  } catch (error) {
    const found = await instead();
    if (found) { asked.catch(() => {}); return found; }
    return error.message === "late" ? asked.catch(gone) : gone();
  }
}

function page(event) {
  const asked = fetch(event.request).then((answer) => {
    event.waitUntil(keep(event.request, answer.clone()));
    return answer;
  });
  return answered(asked, () => kept(event.request));
}

async function tag(code) {
  const known = await kept(new Request(TAG_PAGE));
  return known && Response.redirect(`${TAG_PAGE}#${code}`);
}

const gone = () => new Response(GONE, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });

// Without a signal the front door leads to the visits that are here; any other page says what is here.
async function elsewhere(url) {
  const visits = url.pathname === "/" && (await kept(new Request(VISITS)));
  return visits ? Response.redirect(VISITS) : gone();
}

// Whoever signs in or out on this phone leaves no page to the next.
async function sign(request) {
  await drop((name) => name.startsWith(PAGES));
  return fetch(request);
}

addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.method === "POST" && SIGNS.includes(url.pathname)) return event.respondWith(sign(request));
  if (request.method !== "GET") return;
  if (FILES.includes(url.pathname)) return event.respondWith(file(request));
  if (PAPER.test(url.pathname)) return event.respondWith(answered(fetch(request), () => kept(request)));
  const [, code] = url.pathname.match(TAG) || [];
  if (code && request.mode === "navigate") return event.respondWith(answered(fetch(request), () => tag(code)));
  if (NEVER_KEPT.test(url.pathname)) return;
  if (url.pathname.startsWith("/crew/")) return event.respondWith(page(event));
  if (request.mode === "navigate") event.respondWith(fetch(request).catch(() => elsewhere(url)));
});
