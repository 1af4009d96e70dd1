// What an electrician does with the pages, in a real browser.
import { readFileSync } from "node:fs";
import { createServer, request } from "node:http";
import { join } from "node:path";
import "./journey.mjs";
import "./counts.mjs";
import { Server, account, browser, check, desk, equal, firmKey, folder, onDevice, phone, ready, runAll, sleep, sound, test, until, verified } from "./bench.mjs";


// key enters a figure on the keypad by touch.
async function key(page, figures) {
  for (const k of figures) await page.locator(`[data-key="${k}"]`).tap();
}

async function enterReading(page, base, job, at, reading, figures) {
  await page.goto(`${base}/jobs/${job}/reading?at=${encodeURIComponent(at)}&reading=${encodeURIComponent(reading)}`);
  await key(page, figures);
  await page.getByRole("button", { name: "Enter" }).tap();
  await page.locator("main .notice", { hasText: `${reading} at ${at}` }).waitFor();
}

// answer answers one question of a station's sheet.
async function answer(page, path, value, known) {
  const field = page.locator(`[name="value ${path}"]`);
  if (await field.first().getAttribute("type") === "radio") await page.locator(`label:has([name="value ${path}"][value="${value}"])`).tap();
  else if (await field.evaluate((e) => e.tagName) === "SELECT") await field.selectOption(value);
  else await field.fill(value);
  if (known) await page.locator(`[name="known ${path}"]`).selectOption(known);
}

async function readingsOf(server, job) {
  const { facts } = await server.json(`/api/v1/jobs/${job}`);
  return facts.filter((f) => /^readings\/[^/]+\/value$/.test(f.path)).map((f) => f.value);
}

test("a job from nothing to its papers, by touch alone on a phone", async (note) => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(server.base);
  await page.getByRole("link", { name: "Who works?" }).tap();
  await page.getByLabel("Name").fill("Ann");
  await page.getByRole("button", { name: "Keep" }).tap();
  await page.getByLabel("What the job is called").fill("Barn, one point");
  await page.getByRole("button", { name: "Begin" }).tap();
  await page.locator(".say h1").waitFor();
  const job = page.url().split("/").pop().split("?")[0];
  let facts = 0;
  const at = async (of, answers) => {
    await page.goto(`${server.base}/jobs/${job}/sheet?of=${encodeURIComponent(of)}`);
    for (const [path, value, known] of answers) { await answer(page, path, value, known); facts++; }
    await page.getByRole("button", { name: /^Enter/ }).tap();
    await page.locator("main .notice", { hasText: "Entered" }).waitFor();
  };
  await at("street", [["supply/earthing", "TN-C-S"], ["supply/phases", "1"], ["supply/voltage", "230"], ["supply/Ze", "0.24", "measured"]]);
  await at("points/CP1", [["points/CP1/power", "7.4"], ["points/CP1/phases", "1"]]);
  await at("circuits/charge point/cable", [["circuits/charge point/cable/csa", "6"]]);
  note(`${facts} facts by touch`);
  await page.getByRole("navigation").getByRole("link", { name: "Test" }).tap();
  await page.getByRole("heading", { name: /read$/, level: 1 }).waitFor();
  await enterReading(page, server.base, job, "supply", "Ze", "0.24");
  await page.getByRole("link", { name: "Back to the tests" }).tap();
  await page.getByRole("navigation").getByRole("link", { name: "Papers" }).tap();
  const paper = await page.getByRole("link", { name: "Design sheet as PDF" }).getAttribute("href");
  const file = await fetch(server.base + paper);
  equal(file.headers.get("content-type"), "application/pdf", "the design sheet");
  equal(await readingsOf(server, job), ["0.24 Ω"], "readings");
  await context.close();
  await server.kill();
});

test("a complete job brought in by phone, its certificate issued and verified", async () => {
  const at = folder(), passphrase = "four plain words here";
  firmKey(join(at, "keys"), "Sparks and Daughter (invented)", passphrase);
  const server = await Server.start("--data", join(at, "journal.sqlite"), "--keys", join(at, "keys"));
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(server.base);
  await ready(page); // the issue goes past the worker
  await page.locator('input[type="file"]').evaluate((e) => { for (let d = e.closest("details"); d; d = d.parentElement.closest("details")) d.open = true; });
  await page.locator('input[type="file"]').setInputFiles(process.env.EXAMPLES + "/bakery/complete.yaml");
  await page.locator('form[action="/jobs/bring"] button').tap();
  await page.getByRole("navigation").getByRole("link", { name: "Papers" }).tap();
  await page.getByRole("link", { name: "Certificate", exact: true }).tap();
  await page.getByLabel("Passphrase of the firm's key").fill(passphrase);
  await page.getByRole("button", { name: "Issue it" }).tap();
  const take = page.getByRole("link", { name: "Take the file (PDF)" });
  await take.waitFor();
  const handed = page.waitForEvent("download");
  await take.tap();
  const file = join(at, (await handed).suggestedFilename());
  await (await handed).saveAs(file);
  check(verified(file, join(at, "keys")).includes("unchanged  yes"), "the certificate is not verified");
  await context.close();
  await server.kill();
});

for (const script of [true, false]) test(`a pretended point commissioned ${script ? "by phone" : "without script"}, the steps followed into the record`, async (note) => {
  const server = await Server.start("--demo");
  const job = await server.job("Bakery");
  const context = await browser(folder(), { ...phone, bypassCSP: script, serviceWorkers: "block", javaScriptEnabled: script });
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}/sheet?of=points/CP1`);
  await page.getByRole("link", { name: "Commissioning" }).tap();
  await page.getByRole("button", { name: "Begin with a pretended point" }).tap();
  await page.getByText("ws://127.0.0.1:").first().waitFor();
  await page.locator("#run .boxed").nth(2).waitFor(); // steps come by themselves
  if (script) await sound(page, "a run under way");
  await page.getByRole("heading", { name: "The run has ended" }).waitFor({ timeout: 120000 });
  const steps = await page.locator("#run .boxed").count();
  note(`${steps} steps`);
  check(steps >= 20, `${steps} steps are shown`);
  const { facts } = await server.json(`/api/v1/jobs/${job}`);
  const verdicts = facts.filter((f) => /^runs\/[^/]+\/steps\/[^/]+\/verdict$/.test(f.path));
  check(verdicts.length >= steps, `${verdicts.length} of ${steps} steps are in the record`);
  await context.close();
  await server.kill();
});

test("server killed: ten readings entered, browser restarted, server back: all ten once, in order", async (note) => {
  const data = join(folder(), "journal.sqlite"), profile = folder();
  const server = await Server.start("--data", data);
  const yaml = readFileSync(process.env.EXAMPLES + "/bakery/job.yaml");
  const { job } = await server.json("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body: yaml });
  let context = await browser(profile);
  let page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}`);
  await ready(page);
  await page.goto(`${server.base}/jobs/${job}`); // opened through the worker: taken along
  await onDevice(page, job);
  await server.kill();
  let from = Date.now();
  await page.goto(`${server.base}/jobs/${job}`);
  await page.getByText("Without the server.").waitFor();
  note(`first page without the server ${Date.now() - from} ms`);
  from = Date.now();
  await page.goto(`${server.base}/jobs/${job}/next`);
  note(`a later page ${Date.now() - from} ms`);
  const tests = [["yard board", "R1+R2", "0.09"], ["yard board", "R2", "0.07"], ["yard board", "R1+Rn", "0.05"], ["CP1", "R1+R2", "0.07"], ["CP1", "R2", "0.03"],
    ["CP1", "R1+Rn", "0.07"], ["supply", "Ze", "0.18"], ["yard board", "Zs", "0.28"], ["CP1", "Zs", "0.34"], ["CP1", "pilot voltage in state B", "9"]];
  for (const [at, reading, figures] of tests.slice(0, 5)) await enterReading(page, server.base, job, at, reading, figures);
  await context.close(); // the browser is closed, and opened again
  context = await browser(profile);
  page = await context.newPage();
  from = Date.now();
  await page.goto(`${server.base}/jobs/${job}/readings`);
  await page.getByText("5 of").waitFor();
  note(`first page after the browser was restarted ${Date.now() - from} ms`);
  for (const [at, reading, figures] of tests.slice(5)) await enterReading(page, server.base, job, at, reading, figures);
  await page.goto(`${server.base}/jobs/${job}/reading?at=CP1&reading=Zs`);
  const spent = await page.evaluate(async () => { const t = performance.now(); const r = await fetch("/jobs/" + location.pathname.split("/")[2] + "/reading/judge?at=CP1&reading=Zs&value=0.4&unit=%CE%A9"); await r.text(); return performance.now() - t; });
  note(`verdict without the server ${Math.round(spent)} ms`);
  await page.goto(`${server.base}/jobs/${job}/papers/design-sheet.pdf`).catch(() => {}); // a download is no page
  await context.close();
  await server.start();
  context = await browser(profile);
  page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}/readings`);
  await until(async () => (await readingsOf(server, job)).length === 10, "ten readings on the server", 15000);
  for (let i = 0; i < 3; i++) { await page.reload(); await sleep(200); } // and nothing comes twice
  equal((await readingsOf(server, job)).length, 10, "readings on the server");
  const { acts } = await server.json(`/api/v1/jobs/${job}/acts`);
  equal(acts.slice(1).map((a) => a.what.split(":")[0]), tests.map(([at, reading]) => `${reading} at ${at}`), "the order of the journal");
  check(!(await page.getByText("Without the server.").isVisible()), "the page still says the server is away");
  await context.close();
  await server.kill();
});

test("two browsers edit the same job offline: no loss, the difference is shown and settled", async () => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const { job } = await server.json("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body: readFileSync(process.env.EXAMPLES + "/bakery/job.yaml") });
  const open = async (name) => {
    const context = await browser(folder());
    const page = await context.newPage();
    await page.goto(server.base + "/me");
    await page.getByLabel("Name").fill(name);
    await page.getByRole("button", { name: "Keep" }).tap();
    await page.getByRole("heading", { name: "New job" }).waitFor();
    await ready(page);
    await page.goto(`${server.base}/jobs/${job}`);
    await sleep(2500); // taken along
    return { context, page, name };
  };
  const people = [await open("Ann"), await open("Bert")];
  await server.kill();
  for (const { page, name } of people) {
    await page.goto(`${server.base}/jobs/${job}/fact?path=supply/cut-out/rating`);
    await page.locator("#value").fill(name === "Ann" ? "80" : "63");
    await page.getByRole("button", { name: "Enter", exact: true }).tap();
    await page.locator(".notice", { hasText: "Entered" }).waitFor();
    await enterReading(page, server.base, job, "supply", "Ze", name === "Ann" ? "0.18" : "0.2");
  }
  await server.start();
  for (const { page } of people) await page.goto(`${server.base}/jobs/${job}`);
  await until(async () => (await readingsOf(server, job)).length === 2, "both readings on the server", 20000);
  const one = people[0].page;
  await until(async () => { await one.goto(`${server.base}/jobs/${job}/differences`); return one.getByText("63 A").isVisible(); }, "the difference is shown", 15000);
  check(await one.getByText("80 A").isVisible(), "both values are shown");
  check(await one.getByText("Bert").isVisible(), "who entered each is shown");
  await one.locator("label", { hasText: "63 A" }).tap();
  await one.getByRole("button", { name: "This one is right" }).tap();
  await one.getByText("Nothing waits to be settled.").waitFor();
  const { facts, differences } = await server.json(`/api/v1/jobs/${job}`);
  equal(facts.find((f) => f.path === "supply/cut-out/rating").value, "63 A", "settled");
  equal(differences, [], "differences");
  for (const { context } of people) await context.close();
  await server.kill();
});

test("a reply lost on the way back: entered once", async () => {
  const server = await Server.start("--demo");
  const job = await server.job("Bakery");
  let lose = false;
  const between = createServer((from, to) => {
    const on = request({ port: server.port, host: "127.0.0.1", path: from.url, method: from.method, headers: { ...from.headers, ...(from.headers.origin && { origin: server.base }), host: `127.0.0.1:${server.port}` } }, (answer) => {
      if (lose && from.method === "POST" && from.url.endsWith("/reading")) { answer.resume(); from.socket.destroy(); return; }
      to.writeHead(answer.statusCode, answer.headers);
      answer.pipe(to);
    });
    on.on("error", () => from.socket.destroy());
    from.pipe(on);
  }).listen(0, "127.0.0.1");
  await new Promise((is) => between.once("listening", is));
  const base = `http://127.0.0.1:${between.address().port}`;
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(`${base}/jobs/${job}`);
  await ready(page);
  await page.goto(`${base}/jobs/${job}`);
  await sleep(2500);
  lose = true;
  await enterReading(page, base, job, "supply", "Ze", "0.18");
  lose = false;
  await page.goto(`${base}/jobs/${job}`);
  await sleep(1500);
  await page.goto(`${base}/jobs/${job}`);
  equal(await readingsOf(server, job), ["0.18 Ω"], "readings");
  await context.close();
  between.close();
  between.closeAllConnections();
  await server.kill();
});

test("each key brings its verdict, and a late answer to an earlier key changes nothing", async (note) => {
  const server = await Server.start("--demo");
  const job = await server.job("Bakery");
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}/reading?at=CP1&reading=Zs`);
  await ready(page);
  await page.reload();
  await sleep(1500);
  let asked = 0;
  page.on("request", (r) => { if (r.url().includes("/judge?") && !r.url().includes("why=")) asked++; });
  const times = [], keys = ["0", ".", "3", "4", "1", "⌫", "5"];
  for (const k of keys) {
    times.push(await page.evaluate((k) => new Promise((is) => {
      const shown = document.querySelector("#judged");
      const from = performance.now();
      new MutationObserver((_, seen) => { seen.disconnect(); requestAnimationFrame(() => is(performance.now() - from)); }).observe(shown, { childList: true });
      document.querySelector(`[data-key="${k}"]`).click();
    }), k));
    await sleep(250);
  }
  equal(asked, keys.length, "requests for as many keys");
  times.sort((a, b) => a - b);
  note(`key to verdict: middle ${times[3].toFixed(0)} ms, longest ${times[6].toFixed(0)} ms`); // the aim is 100 ms; bench/web.txt has what was measured
  await page.evaluate(() => { // the answer to the next key comes late
    const now = window.fetch;
    let first = true;
    window.fetch = async (...args) => { const answer = await now(...args), wait = first ? 700 : 0; first = false; await new Promise((is) => setTimeout(is, wait)); return answer; };
  });
  await key(page, "9"); // 0.3459, late
  await page.locator('[data-key="⌫"]').tap(); // 0.345 again
  await page.locator("#judged").getByText("read 0.345 Ω").waitFor();
  await sleep(1000);
  check(await page.locator("#judged").getByText("read 0.345 Ω").isVisible(), "a late answer took the place of the last");
  await context.close();
  await server.kill();
});

const pagesOf = (job) => ["/", "/me", "/away", "/search?q=mill", `/jobs/${job}`, `/jobs/${job}/next`, `/jobs/${job}/rules`, `/jobs/${job}/parts`, `/jobs/${job}/readings`, `/jobs/${job}/reading?at=CP1&reading=Zs`,
  `/jobs/${job}/reading?at=CP1&reading=polarity`, `/jobs/${job}/why`, `/jobs/${job}/papers`, `/jobs/${job}/certificate`, `/jobs/${job}/pictures`, `/jobs/${job}/picture/curves`, `/jobs/${job}/picture/limiter-1`, `/jobs/${job}/picture/lost-pen`, `/jobs/${job}/history`, `/jobs/${job}/compare`, `/jobs/${job}/differences`, `/jobs/${job}/sheet?of=cut-out`, `/jobs/${job}/sheet?of=points/CP1`, `/jobs/${job}/commissioning?point=CP1`,
  `/jobs/${job}/sheet?of=circuits/van point`, `/jobs/${job}/sheet?of=certificate`, `/jobs/${job}/fill?of=circuits/van point`, `/jobs/${job}/fill?of=supply/Ze&of=certificate/nothing to bond`, `/jobs/${job}/add?list=circuits`, `/jobs/${job}/add?list=judgements&clause=462.1`, `/jobs/${job}/inspections`, `/jobs/${job}/fact?path=supply/Ze`, `/jobs/${job}/fact?path=supply/earthing`, `/jobs/${job}/fact?path=circuits/van point/to`, "/no-such-page"];

test("WCAG 2.2 AA by axe, targets of 48 px, no request elsewhere, no error on the console", async (note) => {
  const server = await Server.start("--demo");
  const job = await server.job("Bakery");
  let pages = 0;
  const every = pagesOf(job), few = every.filter((p) => /jobs\/[^/]+$|reading\?.*Zs|fact.*earthing|cut-out|history/.test(p));
  for (const [size, scheme, paths] of [[phone, "light", every], [phone, "dark", few], [desk, "light", few], [desk, "dark", few]]) {
    const context = await browser(folder(), { ...size, colorScheme: scheme, bypassCSP: true, serviceWorkers: "block" });
    const page = await context.newPage();
    const elsewhere = [], errors = [];
    page.on("request", (r) => { if (!r.url().startsWith(server.base)) elsewhere.push(r.url()); });
    page.on("console", (m) => { if (m.type() === "error" && !m.text().includes("404") && !/service ?worker/i.test(m.text())) errors.push(m.text()); });
    page.on("pageerror", (e) => errors.push(String(e)));
    for (const path of paths) {
      await page.goto(server.base + path);
      await sound(page, `${path}, ${scheme}, ${size.viewport.width} px`);
      pages++;
    }
    equal(elsewhere, [], "requests elsewhere");
    equal(errors, [], "errors on the console");
    await context.close();
  }
  note(`${pages} pages checked`);
  await server.kill();
});

test("with accounts: signed in, out of reach, back again, entered under the own name", async () => {
  const data = join(folder(), "journal.sqlite"), password = "correct horse battery";
  account(data, "Sue", "supervisor", password);
  account(data, "Olga", "office", password);
  const server = await Server.start("--data", data);
  const context = await browser(folder(), { ...phone, bypassCSP: true });
  const page = await context.newPage();
  const signIn = async (name) => {
    await page.goto(server.base);
    await page.getByLabel("Name").fill(name);
    await page.getByLabel("Password").fill(password);
    await page.getByRole("button", { name: "Sign in" }).tap();
    await page.getByRole("heading", { name: "New job" }).waitFor();
  };
  await signIn("Sue");
  for (const path of ["/people", "/audit", "/me"]) {
    await page.goto(server.base + path);
    await sound(page, path);
  }
  await page.goto(server.base);
  await page.getByLabel("What the job is called").fill("Barn");
  await page.getByRole("button", { name: "Begin" }).tap();
  await page.locator(".say h1").waitFor();
  const job = page.url().split("/").pop();
  await ready(page);
  await page.reload();
  await sleep(2500);
  await server.kill();
  await enterReading(page, server.base, job, "supply", "Ze", "0.2");
  await server.start();
  let acts = [];
  await until(async () => {
    await page.goto(`${server.base}/jobs/${job}/history`);
    acts = (await page.evaluate(async (job) => (await fetch(`/api/v1/jobs/${job}/acts`)).json(), job)).acts;
    return acts.length === 2;
  }, "the reading is on the server", 20000);
  equal(acts.map((a) => a.who), ["Sue", "Sue"], "who entered");
  await page.goto(server.base + "/me");
  await page.getByRole("button", { name: "Sign out" }).tap();
  await page.getByRole("button", { name: "Sign in" }).waitFor();
  await signIn("Olga");
  await page.getByLabel("What the job is called").fill("Shed");
  await page.getByRole("button", { name: "Begin" }).tap();
  await page.getByText("may read this, not change it").waitFor();
  await context.close();
  await server.kill();
});

test("without script: facts and readings are entered by plain forms", async () => {
  const server = await Server.start("--demo");
  const job = await server.job("Bakery");
  const context = await browser(folder(), { ...phone, javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}/fact?path=supply/Ze`);
  await page.locator("#value").fill("0.2");
  await page.getByRole("button", { name: "Enter", exact: true }).click();
  await page.locator(".notice", { hasText: "0.2 Ω" }).waitFor();
  await page.goto(`${server.base}/jobs/${job}/reading?at=CP1&reading=Zs`);
  await page.locator("#value").fill("nonsense");
  await page.getByRole("button", { name: "Enter", exact: true }).click();
  await page.getByRole("alert").waitFor();
  equal(await page.locator("#value").inputValue(), "nonsense", "what was typed is still there");
  await page.locator("#value").fill("0.34");
  await page.getByRole("button", { name: "Enter", exact: true }).click();
  await page.locator("main .notice", { hasText: "Zs at CP1" }).waitFor();
  await page.getByRole("button", { name: "Take it back" }).click();
  equal(await readingsOf(server, job), [], "readings after one was taken back");
  await context.close();
  await server.kill();
});

test("by keyboard alone, with a name for every element of the drawing", async () => {
  const server = await Server.start("--demo");
  const job = await server.job("Bakery");
  const context = await browser(folder(), desk);
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}`);
  const named = await page.locator(".column a").evaluateAll((all) => all.map((a) => a.textContent.trim()));
  check(named.length > 8 && named.every((n) => n.length > 4), `elements are named ${JSON.stringify(named)}`);
  check(named.some((n) => n.startsWith("Cut-out")), "the cut-out is among them");
  for (let i = 0; i < 60; i++) {
    await page.keyboard.press("Tab");
    if (await page.evaluate(() => document.activeElement.textContent.trim().startsWith("Cut-out"))) break;
  }
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { name: "Cut-out", level: 1 }).waitFor();
  await page.goto(`${server.base}/jobs/${job}/reading?at=CP1&reading=Zs`);
  await page.locator("#value").focus();
  await page.keyboard.type("0.34");
  await page.keyboard.press("Enter");
  await page.locator("main .notice", { hasText: "Zs at CP1" }).waitFor();
  await context.close();
  await server.kill();
});

import "./reach.mjs";
import "./door.mjs";
import "./records.mjs";
import "./commissioning.mjs";
import "./photos.mjs";
import "./design.mjs";

await runAll();
