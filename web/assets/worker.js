// Answers for the server when it cannot be reached. The answers come from the
// same program, compiled for the browser; this file only carries them.
"use strict";
importScripts("/bundle/wasm_exec.js?VERSION"); // of the Go that the program was compiled by

const KEPT = "chargewright VERSION"; // files of this version
const FLAGS = "chargewright flags";
const PROGRAM = "/bundle/chargewright.wasm";
const FILES = ["/assets/page.css", "/assets/page.js", "/assets/lock.js", "/assets/icon.svg", "/assets/sofia-semi.woff2", "/assets/sofia-semi-greek.woff2", "/assets/sofia-cond.woff2", "/assets/sofia-cond-greek.woff2", "/assets/go-regular.ttf", "/assets/go-bold.ttf", "/manifest.webmanifest", PROGRAM];
const ONLY_SERVER = /^\/(api|sign-in|sign-out|account|people|audit|bundle|assets)(\/|$)|^\/jobs\/[^/]+\/issue$/;
const OWN = /^\/device\//; // what this device alone answers
const GONE = 410; // the firm revoked this device
const PATIENCE = 4000; // ms until a server counts as out of reach
const GLANCE = 1500; // the same, where it was out of reach a moment ago
const LARGE = /^\/jobs\/[^/]+\/(photo\/.|papers\/.|parcel$)/; // what may take longer to make
const SLOW = /^\/jobs\/[^/]+\/meter$/; // what waits for something else to answer
const MORE_PATIENCE = 30000;
const WHOLE = 20000; // ms until a page that has begun to come must be there
const SOON = 1000, LATE = 30000; // ms from one look for it to the next: doubled, to this most

addEventListener("install", (e) => {
  e.waitUntil((async () => {
    try {
      const kept = await caches.open(KEPT);
      await kept.addAll(FILES.map((f) => new Request(f, { cache: "reload" })));
    } catch (why) {
      await caches.delete(KEPT).catch(() => {}); // half of it is of no use, and takes room
      await tell({ trouble: why.name === "QuotaExceededError" ? "room" : "kept" });
      throw why;
    }
    await skipWaiting();
  })());
});

addEventListener("activate", (e) => {
  e.waitUntil((async () => {
    for (const name of await caches.keys()) if (name !== KEPT && name !== FLAGS) await caches.delete(name);
    await clients.claim();
    await send();
  })());
});

async function tell(what) {
  for (const page of await clients.matchAll({ type: "window", includeUncontrolled: true })) page.postMessage(what);
}

// The program, started when it is first needed and again after it has stopped
// or the browser has stopped this worker.
let starting, stopped;
function program() {
  starting ??= (async () => {
    const file = (await (await caches.open(KEPT)).match(PROGRAM)) ?? (await fetch(PROGRAM));
    const go = new Go();
    const made = await WebAssembly.instantiateStreaming(file, go.importObject);
    const ready = new Promise((is, not) => { self.programReady = is; self.programFailed = (why) => not(new Error(why)); });
    stopped = go.run(made.instance).then(() => { starting = undefined; throw new Error("the program has stopped"); });
    stopped.catch(() => {});
    await Promise.race([ready, stopped]);
  })().catch((why) => { starting = undefined; throw why; });
  return starting;
}

// ask calls the program, and ends when it ends.
async function ask(name, ...args) {
  await program();
  return Promise.race([self[name](...args), stopped]);
}

// Whether something waits to be sent is noted apart, so that the program need
// not start for a page the server answers.
async function waiting() {
  const noted = await (await caches.open(FLAGS)).match("/waiting");
  return noted ? Number(await noted.text()) : 0;
}

async function noteWaiting(n) {
  const flags = await caches.open(FLAGS);
  if (n > 0) {
    await flags.put("/waiting", new Response(String(n)));
    await registration.sync?.register("send").catch(() => {}); // where the browser sends for closed pages
  } else await flags.delete("/waiting");
}

// Looking for a server that was out of reach: one small request, by one at a
// time, and less and less often unless a person waits for it.
let gone = 0, looked = 0; // how often it was not there, and when last
const due = () => Date.now() - looked >= Math.min(SOON * 2 ** (gone - 1), LATE);
const closed = (answer) => [502, 503, 504].includes(answer.status);
let looking;
function look() {
  looking ??= (async () => {
    try {
      if (closed(await fetch("/api/v1/me", { cache: "no-store", signal: AbortSignal.timeout(gone ? GLANCE : PATIENCE) }))) throw new Error();
      gone = 0;
      return true;
    } catch { gone++; looked = Date.now(); return false; }
  })().finally(() => { looking = undefined; });
  return looking;
}

// send sends what waits and fetches what is new, and says to the pages how it
// stands. It returns whether the server was reached.
let sending;
const follow = new Set(); // jobs opened since the last time something was sent
function send(job) {
  if (job) follow.add(job);
  sending ??= (async () => {
    let is;
    try {
      if (!(await look())) is = { reached: false, waiting: await waiting() };
      else do {
        const jobs = [...follow];
        follow.clear();
        is = await ask("sendWaiting", ...jobs);
        if (is.status || !is.reached) jobs.forEach((j) => follow.add(j));
        await noteWaiting(is.waiting);
        if (is.status === GONE) return await leave();
        if (!is.reached) gone ||= 1;
      } while (is.reached && !is.status && follow.size > 0);
    } catch (why) { is = { reached: gone === 0, waiting: await waiting().catch(() => 0), trouble: trouble(why) }; }
    await tell(is);
    return is.reached;
  })().finally(() => { sending = undefined; });
  return sending;
}

// leave clears what the program does not: the firm revoked this device.
async function leave() {
  for (const name of await caches.keys()) await caches.delete(name);
  await tell({ revoked: true, reached: true, waiting: 0 });
  await registration.unregister();
  return true;
}

// Pictures that others took come after all else, and hold nothing up.
let fetching;
function photos() {
  fetching ??= ask("fetchPhotos").catch(() => false).finally(() => { fetching = undefined; });
  return fetching;
}
const sendAll = (job) => send(job).then((reached) => reached && photos());

const trouble = (why) => /QuotaExceeded/.test(why.name + why.message) ? "room" : "program";

addEventListener("message", (e) => {
  if (e.data === "take over") skipWaiting(); // asked again: the one before it may have had work in hand when it was first asked
  if (e.data === "send") e.waitUntil(gone === 0 || due() ? sendAll() : waiting().then((n) => tell({ reached: false, waiting: n })));
  if (e.data === "send now") e.waitUntil(sendAll());
  if (e.data === "leave") e.waitUntil(send().catch(() => false).then(waiting).then((n) => e.ports[0].postMessage(n), () => e.ports[0].postMessage(NaN)));
});
addEventListener("sync", (e) => e.waitUntil(sendAll().then(async () => { if (await waiting()) throw new Error("something waits: try again later"); })));

addEventListener("fetch", (e) => {
  const at = new URL(e.request.url);
  if (at.origin !== location.origin || at.pathname === "/worker.js") return;
  if (FILES.includes(at.pathname)) e.respondWith(file(e.request));
  else if (OWN.test(at.pathname)) e.respondWith(e.request.arrayBuffer().then((body) => here(e.request, new Uint8Array(body))));
  else if (!ONLY_SERVER.test(at.pathname)) e.respondWith(page(e, at));
});

async function file(request) {
  return (await (await caches.open(KEPT)).match(new URL(request.url).pathname)) ?? fetch(request);
}

async function page(e, at) {
  const request = e.request;
  const body = request.method === "POST" ? new Uint8Array(await request.clone().arrayBuffer()) : null;
  const large = request.method === "GET" && LARGE.test(at.pathname);
  try {
    if (!(large && gone > 0 && !due()) && await caughtUp(request)) {
      const answer = await whole(request, large || SLOW.test(at.pathname) ? MORE_PATIENCE : gone ? GLANCE : PATIENCE);
      const job = /^\/jobs\/([0-9a-f-]+)/.exec(at.pathname);
      if (job && request.mode === "navigate") e.waitUntil(sendAll(job[1]));
      return answer;
    }
  } catch { gone ||= 1; looked = Date.now(); /* answered here */ }
  try {
    return await here(request, body);
  } catch (why) { return sorry(request, body, why); }
}

// caughtUp sends what waits before a page is fetched, so that the page shows
// it; for a person only, not for each picture of a page. It returns whether to
// ask the server.
async function caughtUp(request) {
  if (!(await waiting().catch(() => 0))) return true;
  if (request.mode !== "navigate") return gone === 0;
  return Promise.race([look().then((there) => there && send()), new Promise((is) => setTimeout(is, PATIENCE, false))]);
}

// whole fetches a page to its end, so that half of one is never shown; a file
// is handed on as it comes.
async function whole(request, most) {
  const stop = new AbortController();
  const patience = (ms) => setTimeout(() => stop.abort(), ms);
  let clock = patience(most);
  try {
    const answer = await fetch(request, { signal: stop.signal });
    if (closed(answer)) throw new Error("the server is closed");
    clearTimeout(clock);
    gone = 0;
    if (!answer.headers.get("Content-Type")?.startsWith("text/html")) return answer;
    clock = patience(WHOLE);
    return new Response(await answer.arrayBuffer(), answer);
  } finally { clearTimeout(clock); }
}

async function here(request, body) {
  const answer = await ask("answerHere", request.method, request.url, request.headers.get("Content-Type") ?? "", body);
  if (request.method === "POST") await noteWaiting(await ask("countWaiting"));
  if (answer.status === 303) return Response.redirect(new URL(answer.location, location.origin), 303);
  return new Response(answer.body, { status: answer.status, headers: answer.headers });
}

// sorry is the page where neither the server nor the program answers. What a
// form sent stays on it, to be sent again.
function sorry(request, body, why) {
  console.error("no answer without the server:", why.message);
  const escaped = (text) => text.replace(/[&<>"']/g, (c) => `&#${c.charCodeAt(0)};`);
  const reason = trouble(why) === "room" ? "The device has no room left: free some." : "It may be set to keep nothing, as in a private window.";
  let again = `<p><a class="button" href="">Try again</a></p>`, lost = "";
  if (body && request.headers.get("Content-Type")?.startsWith("application/x-www-form-urlencoded")) {
    const fields = [...new URLSearchParams(new TextDecoder().decode(body))].map(([name, value]) => `<input type="hidden" name="${escaped(name)}" value="${escaped(value)}">`);
    lost = "<p><strong>What you just entered was not kept.</strong> This page still has it: when there is signal, send it from here.</p>";
    again = `<form method="post">${fields.join("")}<button class="main">Send it again</button></form>`;
  } else if (body) lost = "<p><strong>What you just sent was not kept.</strong> Go back, and send it again when there is signal.</p>";
  return new Response(`<!doctype html><html lang="en-GB"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>Out of reach</title><link rel="stylesheet" href="/assets/page.css"></head>
<body><main><h1>Out of reach</h1><div class="box wrong" role="alert"><p>The server cannot be reached, and this browser cannot answer for it. ${reason}</p>${lost}</div>${again}</main></body></html>`,
  { status: 503, headers: { "Content-Type": "text/html; charset=utf-8", "Cache-Control": "no-store" } });
}
