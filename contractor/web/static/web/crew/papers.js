// Labels and safety data sheets of what is planned today, kept beside this person's pages and dropped with them.

import { keep, kept } from "./store.js";

const MOST_BYTES = 30 * 1024 * 1024;

// papers: [{address, version, name}]. Gives the names of those that are not on the phone.
export async function bringPapers(papers, person) {
  if (!papers || !person) return [];
  const cache = await caches.open(`pages-${person}`), had = (await kept("papers")) || {}, have = {}, left = [];
  let room = MOST_BYTES;
  for (const { address, version, name } of papers) {
    const old = had[address]?.version === version && (await cache.match(address));
    const size = old ? had[address].size : await bring(cache, address, room);
    if (size === null || size > room) { left.push(name); await cache.delete(address); continue; }
    room -= size;
    have[address] = { version, size };
  }
  for (const address of Object.keys(had)) if (!have[address]) await cache.delete(address);
  await keep("papers", have);
  return left;
}

async function bring(cache, address, room) {
  const answer = await fetch(address, { cache: "no-cache", redirect: "manual" }).catch(() => null);
  if (!answer?.ok || Number(answer.headers.get("Content-Length")) > room) return null;
  const bytes = await answer.arrayBuffer();
  if (bytes.byteLength <= room) await cache.put(address, new Response(bytes, { headers: answer.headers }));
  return bytes.byteLength;
}
