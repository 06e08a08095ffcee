// Keeps the pages of the desk on the machine itself, so that they open again while the desk is down. Whatever the
// desk answers goes before what is kept here; what was let out of the desk takes its pages along.
// STATICS and VERSION stand in front of this text: the desk writes them there.
"use strict";
const PAGES = "desk-pages", FIXED = "desk-fixed-" + VERSION, MOST_PAGES = 60;
const NEVER = /^\/(open|join|leave|devices|left-behind)(\/|$)/;
const START = '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
  + '<meta name="color-scheme" content="light dark"><link rel="stylesheet" href="/static/desk/desk.css">';
const UNPOSTED = '<script src="/static/desk/shelf.js" defer></script><script src="/static/desk/unposted.js" defer></script>';
const FEW = "default-src 'none'; style-src 'self'; script-src 'self'";

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(FIXED).then((kept) => kept.addAll(STATICS)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("desk-fixed-") && name !== FIXED) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});
// A page that was there before this worker asks to be kept.
self.addEventListener("message", (event) => {
  const { keep } = event.data;
  if (keep && new URL(keep).origin === location.origin) event.waitUntil(fetch(keep).then((found) => keepPage(keep, found)).catch(() => {}));
});
self.addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(openPage(event));
  else if (request.method === "GET" && pathname.startsWith("/static/")) event.respondWith(openFixed(request));
});

async function openFixed(request) {
  try {
    return await fetch(request);
  } catch (failed) {
    const kept = await caches.match(request, { ignoreSearch: true });
    if (kept) return kept;
    throw failed;
  }
}
async function openPage(event) {
  const { request } = event;
  if (/^\/(leave|join|open\/)/.test(new URL(request.url).pathname) && request.method === "POST") await caches.delete(PAGES);
  let found;
  try {
    found = await fetch(request);
  } catch {
    return (request.method === "GET" && await keptPage(request.url)) || noPage(request.method);
  }
  if (found.status === 403) event.waitUntil(caches.delete(PAGES));
  else if (request.method === "GET") event.waitUntil(keepPage(request.url, found.clone()));
  return found;
}
async function keepPage(address, found) {
  const kind = found.headers.get("Content-Type") || "";
  if (!found.ok || found.redirected || !kind.startsWith("text/html") || found.headers.get("Content-Disposition") || NEVER.test(new URL(address).pathname)) return;
  const text = (await found.text()).replace("<html ", '<html data-kept="' + new Date().toISOString() + '" ');
  const headers = { "Content-Type": kind, "Content-Security-Policy": found.headers.get("Content-Security-Policy") || "" };
  const kept = await caches.open(PAGES);
  await kept.delete(address);
  await kept.put(address, new Response(text, { headers }));
  for (const old of (await kept.keys()).slice(0, -MOST_PAGES)) await kept.delete(old);
}
async function keptPage(address) {
  const kept = await caches.open(PAGES);
  return await kept.match(address) || kept.match(address, { ignoreSearch: true });
}
async function noPage(method) {
  const kept = await caches.open(PAGES), links = [];
  for (const one of await kept.keys()) {
    const { pathname } = new URL(one.url);
    const title = /<title>(.*?)<\/title>/.exec(await (await kept.match(one)).text());
    if (/^\/logs\/[\w-]+$/.test(pathname) && title) links.push('<li><a href="' + pathname + '">' + title[1] + "</a></li>");
  }
  const words = "<title>pacewright</title>" + (method === "GET" ? "" : UNPOSTED) + '<main class="narrow">' + "<h1>The desk does not answer</h1><p>Start it again with <code>pacewright desk</code>, then load "
    + "this page again. Nothing that you typed here is lost: it is kept in this browser and goes to the desk when it is back.</p>";
  const list = links.length ? "<h2>Pages that open meanwhile</h2><ul>" + links.join("") + "</ul>" : "";
  return new Response(START + words + list, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8", "Content-Security-Policy": FEW } });
}
