// Answers for the server when it cannot be reached. The answers come from the
// same program, compiled for the browser; this file only carries them.
"use strict";
importScripts("/bundle/wasm_exec.js");

const KEPT = "chargewright VERSION"; // files of this version
const FLAGS = "chargewright flags";
const PROGRAM = "/bundle/chargewright.wasm";
const FILES = ["/assets/page.css", "/assets/page.js", "/assets/icon.svg", "/assets/go-regular.ttf", "/assets/go-bold.ttf", "/manifest.webmanifest", PROGRAM];
const ONLY_SERVER = /^\/(api|sign-in|sign-out|account|people|audit|bundle|assets)(\/|$)|^\/jobs\/[^/]+\/issue$/;
const PATIENCE = 4000; // ms until a server counts as out of reach
const LARGE = /^\/jobs\/[^/]+\/(photo\/.|papers\/.|parcel$)/; // what may take longer to make
const SLOW = /^\/jobs\/[^/]+\/meter$/; // what waits for something else to answer
const MORE_PATIENCE = 30000;
const AGAIN = 5000; // ms until it is tried again when something waits

addEventListener("install", (e) => {
  e.waitUntil((async () => {
    const kept = await caches.open(KEPT);
    await kept.addAll(FILES.map((f) => new Request(f, { cache: "reload" })));
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

// The program, started when it is first needed and again after the browser
// has stopped this worker.
let starting;
function program() {
  starting ??= (async () => {
    const file = await (await caches.open(KEPT)).match(PROGRAM);
    const go = new Go();
    const made = await WebAssembly.instantiateStreaming(file, go.importObject);
    const ready = new Promise((is) => { self.programReady = is; });
    go.run(made.instance).finally(() => { starting = undefined; });
    await ready;
  })().catch((why) => { starting = undefined; throw why; });
  return starting;
}

// Whether something waits to be sent is noted apart, so that the program need
// not start for a page the server answers.
async function noteWaiting(n) {
  const flags = await caches.open(FLAGS);
  if (n > 0) await flags.put("/waiting", new Response(String(n)));
  else await flags.delete("/waiting");
}

let failed = 0;
let sending;
const follow = new Set(); // jobs opened since the last time something was sent
function send(job) {
  if (job) follow.add(job);
  sending ??= (async () => {
    await program();
    let left;
    do {
      const jobs = [...follow];
      follow.clear();
      left = await sendWaiting(...jobs);
      if (left < 0) jobs.forEach((j) => follow.add(j));
    } while (left >= 0 && follow.size > 0);
    if (left < 0) failed = Date.now();
    else { failed = 0; await noteWaiting(left); }
    return left === 0;
  })().catch(() => false).finally(() => { sending = undefined; });
  return sending;
}

// Pictures that others took come after all else, and hold nothing up.
let fetching;
function photos() {
  fetching ??= program().then(() => fetchPhotos()).catch(() => false).finally(() => { fetching = undefined; });
  return fetching;
}

async function reachable() {
  if (!(await (await caches.open(FLAGS)).match("/waiting"))) return true;
  // What takes long to send, such as a photo, keeps no page waiting: it goes on, and the page is answered here.
  return Date.now() - failed > AGAIN && Promise.race([send(), new Promise((is) => { setTimeout(is, PATIENCE, false); })]);
}

addEventListener("message", (e) => { if (e.data === "send") e.waitUntil(send().then(photos)); });
addEventListener("sync", (e) => e.waitUntil(send().then(photos)));

addEventListener("fetch", (e) => {
  const at = new URL(e.request.url);
  if (at.origin !== location.origin || at.pathname === "/worker.js") return;
  if (FILES.includes(at.pathname)) e.respondWith(file(e.request));
  else if (!ONLY_SERVER.test(at.pathname)) e.respondWith(page(e, at));
});

async function file(request) {
  return (await (await caches.open(KEPT)).match(new URL(request.url).pathname)) ?? fetch(request);
}

// ask waits so long for the server to begin its answer, and then for as long as
// the answer takes.
async function ask(request, most) {
  const stop = new AbortController(), late = setTimeout(() => stop.abort(), most);
  try { return await fetch(request, { signal: stop.signal }); } finally { clearTimeout(late); }
}

let lost = 0; // when the server last did not answer
async function page(e, at) {
  const request = e.request;
  const large = request.method === "GET" && LARGE.test(at.pathname);
  if (large && Date.now() - lost < AGAIN) return here(request, null);
  const body = request.method === "POST" ? new Uint8Array(await request.clone().arrayBuffer()) : null;
  if (await reachable()) {
    try {
      const answer = await ask(request, large || SLOW.test(at.pathname) ? MORE_PATIENCE : PATIENCE);
      if (![502, 503, 504].includes(answer.status)) {
        lost = 0;
        const job = /^\/jobs\/([0-9a-f-]+)/.exec(at.pathname);
        if (job && request.mode === "navigate") e.waitUntil(send(job[1]).then(photos));
        return answer;
      }
    } catch { lost = Date.now(); /* out of reach: answered here */ }
  }
  return here(request, body);
}

async function here(request, body) {
  await program();
  const answer = await answerHere(request.method, request.url, request.headers.get("Content-Type") ?? "", body);
  if (request.method === "POST") await noteWaiting(await countWaiting());
  if (answer.status === 303) return Response.redirect(new URL(answer.location, location.origin), 303);
  return new Response(answer.body, { status: answer.status, headers: answer.headers });
}
