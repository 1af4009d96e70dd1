// The bench that browser tests stand on: a real server, a real Chromium, and
// a way to take either away.
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

export const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
export const phone = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true, deviceScaleFactor: 2 };
export const desk = { viewport: { width: 1280, height: 900 } };

const browserFile = process.env.CHROMIUM;
const serverFile = process.env.SERVER;

const folders = [];
process.on("exit", () => { for (const f of folders) try { rmSync(f, { recursive: true, force: true }); } catch { /* a browser that a failed test left open still writes there */ } });
export function folder() {
  folders.push(mkdtempSync(join(tmpdir(), "bench-")));
  return folders.at(-1);
}

export async function freePort() {
  const s = createServer().listen(0, "127.0.0.1");
  await new Promise((is) => s.once("listening", is));
  const { port } = s.address();
  await new Promise((is) => s.close(is));
  return port;
}

// What a failed test leaves running ends with the suite.
const running = new Set();
process.on("exit", () => { for (const p of running) p.kill("SIGKILL"); });

// Server is the program, started as a person starts it.
export class Server {
  constructor(port, args) { this.file = serverFile; this.port = port; this.args = args; this.base = `http://127.0.0.1:${port}`; }
  static async start(...args) { const s = new Server(await freePort(), args); await s.start(); return s; }
  async start() {
    this.process = spawn(this.file, ["serve", "--listen", `127.0.0.1:${this.port}`, ...this.args], { stdio: ["ignore", "pipe", "pipe"] });
    running.add(this.process);
    this.said = "";
    this.process.stdout.on("data", (d) => { this.said += d; });
    this.process.stderr.on("data", (d) => { this.said += d; });
    for (let i = 0; i < 200; i++) {
      try { await fetch(this.base + "/api/v1/me"); return; } catch { await sleep(25); }
    }
    throw new Error("the server does not answer: " + this.said);
  }
  async kill() {
    const gone = new Promise((is) => this.process.once("exit", is));
    this.process.kill("SIGKILL");
    await gone;
  }
  async json(path, init) { return (await fetch(this.base + path, init)).json(); }
  async job(name) { return (await this.json("/api/v1/jobs")).jobs.find((j) => j.name.includes(name)).id; }
}

// account adds someone to a journal.
export function account(data, name, role, password) { execFileSync(serverFile, ["serve", "--data", data, "--add", name, "--role", role], { input: password + "\n", stdio: ["pipe", "ignore", "ignore"] }); }

// firmKey makes a firm's key.
export function firmKey(keys, firm, passphrase) { execFileSync(serverFile, ["key", "--firm", firm, "--keys", keys], { env: { ...process.env, CHARGEWRIGHT_PASSPHRASE: passphrase }, stdio: "ignore" }); }

// verified is what is found of an issued file; it throws where something is not as it was signed.
export function verified(file, keys) { return execFileSync(serverFile, ["verify", file, "--keys", keys], { encoding: "utf8" }); }

export const sleep = (ms) => new Promise((is) => setTimeout(is, ms));

// browser opens Chromium on a profile of its own, which outlives it.
export async function browser(profile, options = phone) {
  const context = await chromium.launchPersistentContext(profile, { executablePath: browserFile, args: flags, ...options });
  context.setDefaultTimeout(10000);
  return context;
}

// ready waits until the worker of the pages is in charge of this one. One that
// did not come through whole is tried again, as a person would.
export async function ready(page) {
  for (let i = 0; i < 4; i++) {
    const there = await page.evaluate(() => new Promise((is) => {
      if (navigator.serviceWorker.controller) return is(true);
      navigator.serviceWorker.addEventListener("controllerchange", () => is(true));
      setTimeout(is, 20000, false);
    }));
    if (there) return;
    await page.reload();
  }
  throw new Error("no worker takes charge of the page");
}

// turn does what leads to another page, and waits until that is there.
export async function turn(page, does) {
  await page.evaluate(() => { window.turned = false; });
  await does();
  await page.waitForFunction(() => window.turned === undefined && document.readyState === "complete");
}

// kept is what the browser's own database holds in a table; nothing where there
// is none yet, which is left as it is.
export const kept = (page, table) => page.evaluate((table) => new Promise((is) => {
  const open = indexedDB.open("chargewright");
  open.onupgradeneeded = () => open.transaction.abort();
  open.onerror = () => is([]);
  open.onsuccess = () => {
    const db = open.result, done = (rows) => { db.close(); is(rows); };
    if (!db.objectStoreNames.contains(table)) return done([]);
    const all = db.transaction(table).objectStore(table).getAll();
    all.onsuccess = () => done(all.result.map((r) => ({ ...r, content: undefined, bytes: r.content?.length })));
  };
}), table);

// onDevice waits until a job is on this device, with what is asked of it.
export const onDevice = (page, job, with_ = "") => until(async () => (await kept(page, "acts")).some((a) => a.job === job && a.act.includes(with_)), "the job is on the device", 30000);

// sound holds a page to WCAG 2.2 AA by axe, to targets of 48 px and to its
// width. Where all is asked, what is folded away is opened first.
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
export async function sound(page, what, all = false) {
  if (all) await page.evaluate(() => { for (const d of document.querySelectorAll("details")) d.open = true; });
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
  equal(violations.map((v) => `${v.id}: ${v.nodes[0].html.slice(0, 160)} ${v.nodes[0].failureSummary}`), [], what);
  const small = await page.evaluate(() => [...document.querySelectorAll("a[href], button, input:not([type=hidden]):not([type=radio]):not([type=checkbox]), select, textarea, summary, label:has(input[type=radio])")]
    .filter((e) => { const b = e.getBoundingClientRect(); return b.width > 2 && b.height > 0 && getComputedStyle(e).display !== "inline" && (b.height < 47.5 || b.width < 40); })
    .map((e) => `${e.outerHTML.slice(0, 90)} ${Math.round(e.getBoundingClientRect().width)}×${Math.round(e.getBoundingClientRect().height)}`));
  equal(small, [], `targets on ${what}`);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  check(wide <= 0, `${what} is ${wide} px wider than its screen`);
}

export function check(is, what) { if (!is) throw new Error(what); }
export function equal(got, want, what) { check(JSON.stringify(got) === JSON.stringify(want), `${what}: ${JSON.stringify(got)}, want ${JSON.stringify(want)}`); }
export async function until(is, what, most = 10000) {
  const end = Date.now() + most;
  for (;;) {
    if (await is()) return;
    if (Date.now() > end) throw new Error("never: " + what);
    await sleep(50);
  }
}

// stuck ends a test that waits for what never comes, so that the others run.
const stuck = () => new Promise((_, no) => setTimeout(no, 600000, new Error("it has not ended in ten minutes")).unref());

// Tests are named, and run two at a time; each line of output is one result. A
// walk that failed beside another is walked once more with the machine to
// itself: where that goes well the first failure is told, and holds nothing back.
const tests = [];
export function test(name, run) { tests.push({ name, run }); }
export async function runAll() {
  const left = tests.filter((t) => !process.env.ONLY || t.name.includes(process.env.ONLY));
  const walk = async (t, earlier) => {
    const from = Date.now(), notes = earlier ? [`walked twice: ${earlier}`] : [];
    const result = { name: t.name, notes };
    try { await Promise.race([t.run((note) => notes.push(note)), stuck()]); } catch (why) { result.failed = String(why.stack ?? why); }
    if (result.failed && !earlier) again.push([t, result.failed]);
    else console.log(JSON.stringify({ ...result, ms: Date.now() - from }));
  };
  const again = [];
  const hand = async () => { for (let t; (t = left.shift());) await walk(t); };
  await Promise.all([hand(), hand()]);
  for (const [t, failed] of again) await walk(t, failed);
  process.exit(0);
}
