/* The cockpit without a network: what was looked at, or taken along, is shown again as it was. What belongs to a person
   lies in a cache of that account's own; another account, nobody logged in, or a log-out empties it. */
"use strict";
const SHELL = "airwork-shell-__VERSION__", WHO = "airwork-who", OWN = "airwork-own-";
const KEPT = [/^\/$/, /^\/today\/card\.pdf$/, /^\/chair$/, /^\/day$/, /^\/debriefs(\/[0-9a-f]{32}(\/map\.json)?)?$/, /^\/flights\/[0-9a-f]+$/, /^\/students(\/[0-9a-f]+)?$/, /^\/map\/(own|around)\.json$/, /^\/airplanes(\/[^/]+)?$/];
const served = new Map();  // address -> when what was shown from here was kept
let turn = 0;  // goes up when what is kept is thrown away: an answer asked for before that is kept no more

const who = async () => { const found = await (await caches.open(WHO)).match("/who"); return found ? found.text() : ""; };
const forget = async (except) => { const mine = ++turn; for (const name of await caches.keys()) if (name.startsWith(OWN) && name !== OWN + except) await caches.delete(name); return mine; };
/* Everything the server answers says whose it is: a hash of the account, "" for nobody. With it the turn it belongs to. */
const note = async (response, asked) => {
  const now = response.headers.get("x-airwork-who"), was = await who();
  if (now === null || now === was || asked !== turn) return [now, asked];
  const mine = await forget(now);
  if (mine !== turn) return [now, mine];
  await (await caches.open(WHO)).put("/who", new Response(now));
  if (mine !== turn) await caches.delete(WHO);
  return [now, mine];
};
const keep = async (request, response, asked) => {
  if (asked !== turn) return response;
  const [now, mine] = await note(response, asked);
  if (now && mine === turn && response.ok && response.type === "basic" && !response.redirected) {
    const copy = response.clone(), headers = new Headers(copy.headers);
    headers.set("x-airwork-kept", new Date().toISOString());
    await (await caches.open(OWN + now)).put(request.url, new Response(await copy.blob(), { status: copy.status, headers }));
    if (mine !== turn && now !== await who()) await caches.delete(OWN + now);
  }
  return response;
};
const kept = async (request) => {
  const now = await who();
  const found = now && await (await caches.open(OWN + now)).match(request.url);
  if (found) served.set(request.url, found.headers.get("x-airwork-kept"));
  return found || null;
};
/* A page that was never looked at brings its styles and scripts with it. */
const dress = async (page) => {
  const shell = await caches.open(SHELL);
  for (const [, address] of page.matchAll(/(?:href|src)="(\/static\/[^"]+)"/g))
    if (!(await shell.match(address))) { const fresh = await fetch(address); if (fresh.ok) await shell.put(address, fresh); }
};
const sorry = () => new Response("<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'><title>No network</title><h1>No network</h1><p>This page was not looked at before on this device, or not by you. <a href='/'>Today</a> and <a href='/debriefs'>debriefs</a> that were are kept.</p>", { status: 503, headers: { "content-type": "text/html; charset=utf-8" } });

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (e) => e.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("airwork-shell-") && name !== SHELL) await caches.delete(name);
  await self.clients.claim();
})()));
self.addEventListener("fetch", (e) => {
  const { request } = e, at = new URL(request.url);
  if (at.origin !== self.location.origin) return;
  if (request.method === "POST" && at.pathname === "/logout") {
    e.respondWith((async () => {
      await forget(""); await caches.delete(WHO);
      try { return await fetch(request); } finally { turn += 1; }  // until it is answered more may come, and is not kept
    })());
    return;
  }
  if (request.method !== "GET") return;
  if (at.pathname.startsWith("/static/")) {
    e.respondWith((async () => {
      const shell = await caches.open(SHELL);
      try { const fresh = await fetch(request); if (fresh.ok) await shell.put(request.url, fresh.clone()); return fresh; }
      catch { return (await shell.match(request.url)) || Response.error(); }
    })());
    return;
  }
  if (!KEPT.some((one) => one.test(at.pathname))) {
    if (request.mode === "navigate") e.respondWith(fetch(request).catch(sorry));
    return;
  }
  e.respondWith((async () => {
    const asked = turn;
    try { const answer = await fetch(request); served.delete(request.url); return await keep(request, answer, asked); }
    catch { return (await kept(request)) || (request.mode === "navigate" ? sorry() : Response.error()); }
  })());
});
self.addEventListener("message", (e) => {
  if (e.data.asks) e.ports[0].postMessage(served.get(e.data.asks) || null);
  if (e.data.take) e.waitUntil((async () => {
    let done = 0;
    for (const address of e.data.take.filter((one) => KEPT.some((way) => way.test(new URL(one, self.location.origin).pathname)))) {
      const asked = turn;
      try {
        const answer = await fetch(address), page = /^text\/html/.test(answer.headers.get("content-type")) ? await answer.clone().text() : "";
        await keep(new Request(address), answer, asked);
        await dress(page);
        done += 1;
      } catch { /* without a network nothing is taken */ }
    }
    e.ports[0]?.postMessage(done);
  })());
});
