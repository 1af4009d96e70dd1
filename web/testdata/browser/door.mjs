// The door, installing, and the worker's life, in a real browser.
import { readFileSync } from "node:fs";
import { createServer, request } from "node:http";
import { join } from "node:path";
import { Server, account, browser, check, equal, folder, freePort, kept, onDevice, phone, ready, sleep, sound, test, until } from "./bench.mjs";


const password = "correct horse battery";
async function signIn(page, base, name) {
  await page.goto(base + "/sign-in");
  await page.getByLabel("Name").fill(name);
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Sign in", exact: true }).tap();
  await page.getByRole("heading", { name: "New job" }).waitFor();
}

// The device is Chromium's own authenticator, another maker's than the server's library.
test("a passkey added, used to sign in, and taken away", async () => {
  const data = join(folder(), "journal.sqlite");
  account(data, "Sue", "supervisor", password);
  const server = await Server.start("--data", data);
  const base = `http://localhost:${server.port}`;
  const context = await browser(folder(), { ...phone, bypassCSP: true });
  const page = await context.newPage();
  const cdp = await context.newCDPSession(page);
  await cdp.send("WebAuthn.enable");
  const device = { protocol: "ctap2", transport: "internal", hasResidentKey: true, hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true };
  const { authenticatorId } = await cdp.send("WebAuthn.addVirtualAuthenticator", { options: device });

  await signIn(page, base, "Sue");
  await page.goto(base + "/me");
  await page.getByText("You have none.").waitFor();
  const add = async (name) => {
    await page.getByLabel("What you call it").fill(name);
    await page.getByLabel("Your password").fill(password);
    await page.getByRole("button", { name: "Add a passkey" }).tap();
  };
  await add("my phone");
  await page.getByText("not used yet").waitFor();
  await sound(page, "the account");
  await add("my phone again");
  await page.getByRole("alert").filter({ hasText: "has a passkey of yours already" }).waitFor();

  await page.getByRole("button", { name: "Sign out" }).tap();
  await page.getByRole("heading", { name: "Or without a password" }).waitFor();
  await sound(page, "the sign-in");
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("heading", { name: "New job" }).waitFor();
  await page.goto(base + "/me");
  await page.getByText("by passkey my phone").waitFor();
  await page.getByText("last used").waitFor();
  await page.goto(base + "/audit");
  for (const line of ["passkey added: my phone", "signed in by passkey my phone", "signed in by password"]) check(await page.getByRole("cell", { name: line, exact: true }).first().isVisible(), `the audit list lacks ${line}`);

  // A person who is not verified, by finger, face or PIN, is not let in.
  await page.goto(base + "/me");
  await page.getByRole("button", { name: "Sign out" }).tap();
  await cdp.send("WebAuthn.setUserVerified", { authenticatorId, isUserVerified: false });
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("alert").filter({ hasText: "It was not done" }).waitFor();
  await cdp.send("WebAuthn.setUserVerified", { authenticatorId, isUserVerified: true });

  // A copy whose counter stands behind is refused.
  const { credentials: [held] } = await cdp.send("WebAuthn.getCredentials", { authenticatorId });
  await cdp.send("WebAuthn.removeCredential", { authenticatorId, credentialId: held.credentialId });
  await cdp.send("WebAuthn.addCredential", { authenticatorId, credential: { ...held, signCount: 0 } });
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("alert").filter({ hasText: "lets nobody in" }).waitFor();
  await cdp.send("WebAuthn.removeCredential", { authenticatorId, credentialId: held.credentialId });
  await cdp.send("WebAuthn.addCredential", { authenticatorId, credential: { ...held, signCount: 50 } });
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("heading", { name: "New job" }).waitFor();

  // Taken away, it lets nobody in, and the password still does.
  await page.goto(base + "/me");
  await page.getByRole("button", { name: "Take away the passkey my phone" }).tap();
  await page.getByText("You have none.").waitFor();
  await page.getByRole("button", { name: "Sign out" }).tap();
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("alert").filter({ hasText: "lets nobody in" }).waitFor();
  await signIn(page, base, "Sue");

  // By number instead of by name no passkey is offered, and the page says why.
  await page.goto(server.base + "/sign-in");
  check(!(await page.getByRole("button", { name: "Sign in by passkey" }).isVisible()), "a passkey is offered at a number");
  await signIn(page, server.base, "Sue");
  await page.goto(server.base + "/me");
  await page.getByText("A passkey belongs to a name.").waitFor();
  await context.close();
  await server.kill();
});

test("another session is seen and ended, without script", async () => {
  const data = join(folder(), "journal.sqlite");
  account(data, "Ann", "electrician", password);
  const server = await Server.start("--data", data);
  const here = await browser(folder(), { ...phone, javaScriptEnabled: false }), there = await browser(folder());
  const mine = await here.newPage(), lost = await there.newPage();
  await signIn(mine, server.base, "Ann");
  await signIn(lost, server.base, "Ann");
  await mine.goto(server.base + "/me");
  await mine.getByRole("button", { name: "End the session" }).tap();
  await until(async () => (await mine.getByRole("button", { name: "End the session" }).count()) === 0, "the other session is gone");
  await lost.goto(server.base + "/me");
  await lost.getByLabel("Password").waitFor();
  await mine.reload();
  await mine.getByText("You are signed in as").waitFor();
  await here.close();
  await there.close();
  await server.kill();
});

// An attack: whoever picks up a phone after its person signed out looks for what they had on it.
test("who signs out sends what waits and leaves nothing on the device", async () => {
  const data = join(folder(), "journal.sqlite");
  account(data, "Ann", "electrician", password);
  const server = await Server.start("--data", data);
  const context = await browser(folder(), phone);
  const page = await context.newPage();
  await signIn(page, server.base, "Ann");
  const text = readFileSync(process.env.EXAMPLES + "/bakery/job.yaml", "utf8");
  const job = await page.evaluate(async (body) => (await (await fetch("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body })).json()).job, text);
  await ready(page);
  await page.goto(`${server.base}/jobs/${job}`);
  await onDevice(page, job);

  await server.kill();
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await enter(page, "80");
  await page.goto(server.base + "/away");
  await page.locator("#state", { hasText: "1 waiting to be sent" }).waitFor();
  await server.start();
  await page.goto(server.base + "/me");
  await page.getByRole("button", { name: "Sign out" }).tap();
  await page.getByLabel("Password").waitFor({ timeout: 40000 });
  equal((await kept(page, "acts")).length + (await kept(page, "photos")).length + (await kept(page, "words")).length, 0, "acts, photos and words left on the device");
  await server.kill();
  await page.goto(`${server.base}/jobs/${job}`).catch(() => {});
  let shown = "";
  await until(async () => { try { return shown = await page.content(); } catch { return false; } }, "something is shown");
  check(!/bakery/i.test(shown), "the device still shows the job without the server");
  await server.start();
  await signIn(page, server.base, "Ann");
  const facts = await page.evaluate(async (job) => (await (await fetch(`/api/v1/jobs/${job}`)).json()).facts, job);
  equal(facts.find((f) => f.path === "supply/cut-out/rating")?.value, "80 A", "what waited is on the server");
  await context.close();
  await server.kill();
});

// Ann's phone with a job on it that was opened there.
async function annsPhone(server, options = phone) {
  const context = await browser(folder(), options), page = await context.newPage();
  await signIn(page, server.base, "Ann");
  const text = readFileSync(process.env.EXAMPLES + "/bakery/job.yaml", "utf8");
  const job = await page.evaluate(async (body) => (await (await fetch("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body })).json()).job, text);
  await ready(page);
  await page.goto(`${server.base}/jobs/${job}`);
  await onDevice(page, job);
  await until(async () => (await words(page)).device, "the server knows the device");
  return { context, page, job };
}

// words is what the device remembers, by name; a word may be set.
const words = (page, name, to) => page.evaluate(([name, to]) => new Promise((is, not) => {
  const open = indexedDB.open("chargewright");
  open.onupgradeneeded = () => open.transaction.abort();
  open.onerror = () => is({});
  open.onsuccess = () => {
    const db = open.result, table = db.transaction("words", to === undefined ? "readonly" : "readwrite").objectStore("words"), all = {};
    if (to !== undefined) table.put(to, name);
    const rows = table.openCursor();
    rows.onsuccess = () => {
      const at = rows.result;
      if (!at) { db.close(); return is(all); }
      all[at.key] = at.value;
      at.continue();
    };
    rows.onerror = () => { db.close(); not(rows.error); };
  };
}), [name, to]);

// An attack: whoever finds a phone has it without the server until the firm's time is over, and no longer.
test("without the server a device answers as long as the firm allows, and keeps what waits", async () => {
  const data = join(folder(), "journal.sqlite");
  account(data, "Ann", "electrician", password);
  const server = await Server.start("--data", data, "--away-for", "72h");
  const { context, page, job } = await annsPhone(server);
  await server.kill();
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await enter(page, "80");
  await page.goto(formAt(server, job, "supply/Ze"));
  await words(page, "seen", new Date(Date.now() - 73 * 3600e3).toISOString().slice(0, 19) + "Z");
  await page.locator("#value").fill("0.21");
  await page.getByRole("button", { name: "Enter", exact: true }).tap();
  await page.getByRole("alert").filter({ hasText: "allows 3 days without it" }).filter({ hasText: "1 entry that waits" }).waitFor({ timeout: 20000 });
  await page.getByText("This was not entered.").waitFor();
  await sound(page, "the time is over");
  await server.start();
  await page.getByRole("button", { name: "Send it again" }).tap();
  await page.locator(".notice", { hasText: "Entered" }).waitFor({ timeout: 20000 });
  await until(async () => {
    const { facts } = await page.evaluate(async (job) => (await fetch(`/api/v1/jobs/${job}`)).json(), job);
    const now = (path) => facts.find((f) => f.path === path)?.value;
    return now("supply/cut-out/rating") === "80 A" && now("supply/Ze")?.startsWith("0.21");
  }, "what waited and what was typed are on the server", 20000);
  await context.close();
  await server.kill();
});

// An attack: a phone is lost. The firm revokes it; when it next reaches the server nothing is left on it.
test("a lost device that is revoked clears itself when it is next seen", async () => {
  const data = join(folder(), "journal.sqlite");
  account(data, "Ann", "electrician", password);
  account(data, "Sue", "supervisor", password);
  const server = await Server.start("--data", data);
  const { context, page, job } = await annsPhone(server);
  const office = await browser(folder()), hers = await office.newPage();
  await signIn(hers, server.base, "Sue");
  await hers.goto(server.base + "/people");
  await sound(hers, "the list of devices");
  await hers.getByRole("button", { name: "Revoke the device of Ann" }).tap();
  await hers.getByText("; revoked").waitFor();
  await page.goto(`${server.base}/jobs/${job}`).catch(() => {});
  await until(async () => { try { return (await kept(page, "acts")).length + Object.keys(await words(page)).length === 0; } catch { return false; } }, "nothing is left on the device", 20000);
  await until(async () => { try { return await page.getByLabel("Password").isVisible(); } catch { return false; } }, "it asks for a sign-in", 20000);
  await office.close();
  await context.close();
  await server.kill();
});

// The device is Chromium's own authenticator, another maker's than ours.
test("without the server the pages ask for the device's own lock", async () => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const base = `http://localhost:${server.port}`, context = await browser(folder(), { ...phone, bypassCSP: true }), page = await context.newPage();
  const { job } = await server.json("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body: readFileSync(process.env.EXAMPLES + "/bakery/job.yaml") });
  const cdp = await context.newCDPSession(page);
  await cdp.send("WebAuthn.enable");
  const { authenticatorId } = await cdp.send("WebAuthn.addVirtualAuthenticator", { options: { protocol: "ctap2", transport: "internal", hasResidentKey: true, hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true } });
  await page.goto(`${base}/jobs/${job}`);
  await ready(page);
  await page.goto(`${base}/jobs/${job}`);
  await onDevice(page, job);
  await page.goto(base + "/away");
  await page.getByRole("button", { name: "Ask for the lock" }).tap();
  await page.getByRole("button", { name: "Ask for it no more" }).waitFor();
  await sound(page, "the lock");
  await server.kill();
  await page.goto(`${base}/jobs/${job}`);
  await page.locator(".say h1").waitFor(); // who set it has it open
  await words(page, "open", "2020-01-01T00:00:00Z"); // left alone for long
  await page.goto(`${base}/jobs/${job}`);
  await page.getByRole("heading", { name: "Locked" }).waitFor();
  await sound(page, "locked");
  await cdp.send("WebAuthn.setUserVerified", { authenticatorId, isUserVerified: false });
  await page.getByRole("button", { name: "Open with this device" }).tap();
  await page.getByRole("alert").filter({ hasText: "It was not done" }).waitFor();
  await cdp.send("WebAuthn.setUserVerified", { authenticatorId, isUserVerified: true });
  await page.getByRole("button", { name: "Open with this device" }).tap();
  await page.locator(".say h1").waitFor();
  await context.close();
});

test("the browser would install the pages", async () => {
  const server = await Server.start("--demo");
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(server.base);
  await ready(page);
  const cdp = await context.newCDPSession(page);
  const { errors, data } = await cdp.send("Page.getAppManifest");
  equal(errors, [], "errors in the manifest");
  equal(JSON.parse(data).icons.length, 4, "icons");
  const { installabilityErrors } = await cdp.send("Page.getInstallabilityErrors");
  equal(installabilityErrors.map((e) => e.errorId), [], "what keeps it from being installed");
  await page.goto(server.base + "/api/v1/me"); // which has no manifest, and cannot be
  check((await cdp.send("Page.getInstallabilityErrors")).installabilityErrors.length > 0, "the browser would install anything");
  await context.close();
  await server.kill();
});

// A job on a phone that has taken the pages in.
async function phoneWithJob(options) {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const { job } = await server.json("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body: readFileSync(process.env.EXAMPLES + "/bakery/job.yaml") });
  const context = await browser(folder(), options);
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}`);
  await ready(page);
  await page.goto(`${server.base}/jobs/${job}`);
  await onDevice(page, job);
  return { server, job, context, page };
}

const formAt = (server, job, path) => `${server.base}/jobs/${job}/fact?path=${encodeURIComponent(path)}`;
async function enter(page, value) {
  await page.locator("#value").fill(value);
  await page.getByRole("button", { name: "Enter", exact: true }).tap();
  await page.locator(".notice", { hasText: "Entered" }).waitFor({ timeout: 30000 });
}
async function factsOf(server, job) {
  const { facts } = await server.json(`/api/v1/jobs/${job}`);
  return (path) => facts.find((f) => f.path === path)?.value;
}
const programs = (page) => page.evaluate(async () => (await caches.keys()).filter((n) => /^chargewright [0-9a-f]{16}$/.test(n)));

test("a newer version takes the place of the one on the phone, and nothing entered is lost", async () => {
  const { server, job, context, page } = await phoneWithJob();
  const [old] = await programs(page);
  await server.kill();
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await enter(page, "80");
  const first = await context.newPage(), second = await context.newPage();
  for (const p of [first, second]) await p.goto(formAt(server, job, "supply/Ze")); // forms of the old version, left open
  await second.goto(formAt(server, job, "supply/agreed capacity"));

  server.file = process.env.NEWER;
  await server.start();
  await enter(first, "0.21"); // an old page's form, posted to the new server
  await until(async () => { const now = await factsOf(server, job); return now("supply/cut-out/rating") === "80 A" && now("supply/Ze")?.startsWith("0.21 Ω"); }, "what was entered before and after is on the server", 20000);
  await page.goto(`${server.base}/away`);
  await until(async () => { const now = await programs(page); return now.length === 1 && now[0] !== old; }, "the newer version alone is on the phone", 400000); // at the latest when the browser gives up on what the older one still does

  await server.kill();
  await page.goto(`${server.base}/away`);
  await page.getByText("A newer version.").waitFor(); // answered by the newer program
  await page.getByText("Without the server.").waitFor();
  await enter(second, "80"); // an old page's form, posted to the newer program on the phone
  await server.start();
  await until(async () => (await factsOf(server, job))("supply/agreed capacity") === "80 A", "what was entered in the newer version is on the server", 20000);
  await until(async () => { await page.goto(`${server.base}/jobs/${job}`); return !(await page.getByText("Without the server.").isVisible()); }, "the pages come from the server again");
  const { acts } = await server.json(`/api/v1/jobs/${job}/acts`);
  equal(acts.slice(1).map((a) => a.entries[0].path), ["supply/cut-out/rating", "supply/Ze", "supply/agreed capacity"], "what was entered, once and in order");
  await context.close();
  await server.kill();
});

test("the server is back: what waits is sent, and the page says so by itself", async () => {
  const { server, job, context, page } = await phoneWithJob();
  await server.kill();
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await enter(page, "80");
  const state = page.locator("#state");
  await state.filter({ hasText: "1 waiting to be sent" }).waitFor();
  equal(await state.getAttribute("role"), "status", "how it is told to who does not see it");
  let loads = 0;
  page.on("framenavigated", () => loads++);
  await server.start();
  await state.filter({ hasText: "All that waited has been sent." }).waitFor({ timeout: 20000 });
  equal((await factsOf(server, job))("supply/cut-out/rating"), "80 A", "on the server");
  equal(loads, 0, "times the page was loaded meanwhile");

  // By going to a page, at once: it shows what the server has.
  await server.kill();
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await enter(page, "63");
  await server.start();
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await page.getByText("63 A").first().waitFor();
  check(!(await page.getByText("Without the server.").isVisible()), "a page asked for when the server is back is answered by the phone");
  equal((await factsOf(server, job))("supply/cut-out/rating"), "63 A", "on the server by the next page");
  await state.filter({ hasText: "All that waited has been sent." }).waitFor();

  // By the network coming back, at once: without, it would be tried half a minute later.
  await server.kill();
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await enter(page, "100");
  await page.evaluate(() => { document.dispatchEvent(new Event("visibilitychange")); });
  await server.start();
  await page.evaluate(() => { dispatchEvent(new Event("online")); });
  await state.filter({ hasText: "All that waited has been sent." }).waitFor();
  await context.close();
  await server.kill();
});

test("a server that stays away is looked for less and less often", async (note) => {
  const { server, job, context, page } = await phoneWithJob();
  await server.kill();
  const looks = [];
  const closed = createServer((from, to) => { if (from.url === "/api/v1/me") looks.push(Date.now()); to.writeHead(503).end(); }).listen(server.port, "127.0.0.1");
  await new Promise((is) => closed.once("listening", is));
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await enter(page, "80");
  const from = looks.length;
  await sleep(16000);
  note(`looked for ${looks.length - from} times in 16 s`);
  check(looks.length - from >= 1 && looks.length - from <= 6, `looked for ${looks.length - from} times`);
  await context.close();
  closed.close();
  closed.closeAllConnections();
});

test("signed out meanwhile: what waits stays, and is sent after signing in", async () => {
  const data = join(folder(), "journal.sqlite");
  account(data, "Sue", "supervisor", password);
  const server = await Server.start("--data", data);
  const context = await browser(folder());
  const page = await context.newPage();
  await signIn(page, server.base, "Sue");
  await page.getByLabel("What the job is called").fill("Barn");
  await page.getByRole("button", { name: "Begin" }).tap();
  await page.locator(".say h1").waitFor();
  const job = page.url().split("/").pop();
  await ready(page);
  await page.reload();
  await until(() => page.evaluate(async () => (await indexedDB.databases()).length > 0), "the job is on the device");
  await sleep(1500);
  await server.kill();
  await page.goto(formAt(server, job, "supply/Ze"));
  await enter(page, "0.2");
  account(data, "Sue", "supervisor", password); // set anew: her sessions end
  await server.start();
  await page.locator("#state").filter({ hasText: "1 entry waits on this device. Sign in" }).waitFor({ timeout: 20000 });
  await page.getByRole("link", { name: "Sign in", exact: true }).tap();
  await page.getByLabel("Password").waitFor();
  await signIn(page, server.base, "Sue");
  await until(async () => {
    await page.goto(`${server.base}/jobs/${job}`);
    return (await page.evaluate(async (job) => (await fetch(`/api/v1/jobs/${job}/acts`)).json(), job)).acts.length === 2;
  }, "it is on the server", 20000);
  await context.close();
  await server.kill();
});

test("an answer that breaks off half-way: the page is shown whole, and a form is entered once", async () => {
  const { server, job, context, page } = await phoneWithJob();
  await server.kill();
  const port = await freePort();
  const behind = new Server(port, server.args);
  await behind.start();
  let half = true;
  const between = createServer((from, to) => {
    const on = request({ port, host: "127.0.0.1", path: from.url, method: from.method, headers: from.headers }, async (answer) => {
      const parts = [];
      for await (const part of answer) parts.push(part);
      const text = Buffer.concat(parts);
      to.writeHead(answer.statusCode, answer.headers);
      if (!half || !from.url.startsWith("/jobs/") || text.length < 200) return to.end(text);
      to.write(text.subarray(0, text.length / 2));
      setTimeout(() => from.socket.destroy(), 50);
    });
    on.on("error", () => from.socket.destroy());
    from.pipe(on);
  }).listen(server.port, "127.0.0.1");
  await new Promise((is) => between.once("listening", is));
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await page.getByText("For a qualified person").waitFor(); // its end is there
  await enter(page, "80");
  half = false;
  await until(async () => { await page.goto(`${server.base}/jobs/${job}`); return !(await page.getByText("Without the server.").isVisible()); }, "the server answers", 20000);
  const { acts } = await behind.json(`/api/v1/jobs/${job}/acts`);
  equal(acts.slice(1).map((a) => a.entries[0].value), ["80 A"], "entered once");
  await context.close();
  between.close();
  between.closeAllConnections();
  await behind.kill();
});

test("a device with no room, and a browser that keeps nothing, say so in words", async () => {
  const { server, job, context, page } = await phoneWithJob({ ...phone, bypassCSP: true });
  const [worker] = context.serviceWorkers();
  await page.goto(formAt(server, job, "supply/cut-out/rating"));
  await server.kill();
  // No room: as IndexedDB says it (W3C, Indexed Database API 3.0, QuotaExceededError).
  await worker.evaluate(() => {
    const put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function (...args) {
      if (this.name !== "acts") return put.apply(this, args);
      const full = this.transaction;
      Object.defineProperty(full, "error", { value: new DOMException("full", "QuotaExceededError") });
      full.abort();
    };
    self.putAsBefore = () => { IDBObjectStore.prototype.put = put; };
  });
  await page.locator("#value").fill("80");
  await page.getByRole("button", { name: "Enter", exact: true }).tap();
  await page.getByRole("alert").filter({ hasText: "There is no room left where the jobs are kept, so this was not kept." }).waitFor();
  await sound(page, "no room");
  await worker.evaluate(() => self.putAsBefore()); // some was freed
  await page.getByRole("button", { name: "Send it again" }).tap();
  await page.locator(".notice", { hasText: "Entered: " }).filter({ hasText: "80 A" }).waitFor();
  await context.close();

  // Nothing kept: as a browser in a private window may refuse its database.
  const other = await browser(folder(), { ...phone, bypassCSP: true });
  await server.start();
  const shown = await other.newPage();
  await shown.goto(`${server.base}/jobs/${job}`);
  await ready(shown);
  const [its] = other.serviceWorkers();
  await its.evaluate(async () => { // and the program is started anew, as after a pause
    await sending;
    IDBFactory.prototype.open = () => { throw new DOMException("kept out", "SecurityError"); };
    starting = undefined;
  });
  await shown.goto(formAt(server, job, "supply/cut-out/rating"));
  await server.kill();
  await shown.locator("#value").fill("63");
  await shown.getByRole("button", { name: "Enter", exact: true }).tap();
  await shown.getByRole("alert").filter({ hasText: "What you just entered was not kept." }).waitFor();
  await sound(shown, "out of reach");
  await server.start();
  await shown.getByRole("button", { name: "Send it again" }).tap();
  await shown.locator(".notice", { hasText: "Entered: " }).filter({ hasText: "63 A" }).waitFor();
  equal((await factsOf(server, job))("supply/cut-out/rating"), "63 A", "on the server");
  await other.close();
  await server.kill();
});
