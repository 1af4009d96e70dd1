// What a whole job costs a hand: taps, characters, fields and pages from nothing
// to an issued certificate, by touch on a phone, from a template. A key of the
// pad or of the device's own keyboard is a character; choosing from a list is two
// taps; a page is what replaces what was on the screen, loaded or not.
import { join } from "node:path";
import { Server, browser, check, firmKey, folder, ready, test } from "./bench.mjs";

const passphrase = "one two six ten";

// What is found on each job that its template cannot know, by the path of the
// record; the same for all of them first. All of it is invented.
const place = "1 Elm Row";
const common = {
  "site/client": "B. Fox", "site/client address": place, "site/address": place, "site/temperature": "9", "boards/main board/place": "hall",
  "supply/polarity confirmed": "yes", "supply/earthing conductor/connected": "yes", "supply/main bonding/water/connected": "yes",
  "supply/main bonding/gas/connected": "yes", "supply/maximum demand": "25 (calculated)", "certificate/existing installation": "sound as seen",
  "certificate/completed": new Date().toISOString().slice(0, 10), "certificate/nothing to bond": "oil, structural steel, lightning protection", "site/hazards": "none",
};
const people = { firm: "Ash & Co", address: "2 Elm Row", telephone: "01632 960014" };
const tester = { name: "T1", kind: "multifunction", serial: "77", "calibrated until": "2027-03-01" };
const doesNotApply = ["other sources", "other protection against shock", "bath and shower places", "generation and storage"];

// What the instruments show where the page before the reading says nothing likelier.
const shown = { "insulation live to earth": ">200", "insulation between live": ">200", "insulation between lines": ">200" };
const usual = { Ipf: "0.66", "RCD time at IΔn": "27", "6 mA d.c.": "4", continuity: "0.02" };

// likely is the value that a page says is most likely, in the unit of its pad.
function likely(says, unit) {
  const scale = { "mΩ": 1e-3, "Ω": 1, "kΩ": 1e3, "MΩ": 1e6, A: 1, kA: 1e3, mA: 1e-3, ms: 1e-3, s: 1, V: 1 };
  const found = /most likely ([0-9.]+) (\S+?)[,;.]?$/.exec(says.trim()) ?? /most likely ([0-9.]+) (\S+?)[,;.]?( |$)/.exec(says);
  if (!found || !scale[found[2]] || !scale[unit]) return undefined;
  return String(Number((Number(found[1]) * scale[found[2]] / scale[unit]).toPrecision(2)));
}

const jobs = [
  { name: "a house, one point", template: "House with one point", ask: "9", facts: { "points/CP1/make and model": "M7", "points/CP1/serial": "S1" },
    most: { taps: 110, characters: 150, pages: 45 } }, // the aim; the others are held to what was counted
  { name: "a house on TT with a rod", template: "House with an earth rod", ask: "9", facts: { "points/CP1/make and model": "M7", "points/CP1/serial": "S1", "electrodes/rod/place": "beside the meter box", "supply/line-neutral loop": "0.33 (declared)" },
    reads: { "Ze at supply": "100" },
    most: { taps: 100, characters: 155, pages: 46 } },
  { name: "a workplace, three-phase through a sub-board", template: "Workplace point from a sub-board", ask: "9",
    facts: { "points/CP1/make and model": "M22", "points/CP1/serial": "S1", "boards/sub-board/place": "plant room", "supply/maximum demand": "50 (calculated)" }, reads: { "Ze at supply": "0.18", "Ipf at main board": "2.5", "Ipf at sub-board": "1.9" },
    most: { taps: 110, characters: 175, pages: 58 } },
];

const trace = process.env.TRACE ? console.error : () => {}; // each page as it comes, for who looks where the taps go

// hand is a hand that counts what it does.
class Hand {
  constructor(page) {
    Object.assign(this, { page, said: new Set(), taps: 0, characters: 0, fields: 0, pages: 0 });
  }
  async tap(at) { this.taps++; await at.tap(); }
  async turn(at) { // what was on the screen is replaced, by a page or within one
    await this.page.evaluate(() => { document.querySelector("main").dataset.before = "yes"; });
    await this.tap(at);
    this.pages++;
    try {
      await this.page.waitForFunction(() => document.readyState === "complete" && document.querySelector("main") && !document.querySelector("main").dataset.before);
      trace(`${this.says()}: ${(await this.page.locator("main").textContent()).replace(/\s+/g, " ").slice(0, 160)}`);
    } catch (e) { throw new Error(`no page follows a tap at ${this.page.url()}: ${(await this.page.locator("main").textContent()).replace(/\s+/g, " ").slice(0, 500)}`); }
  }
  async type(at, text) {
    this.fields++;
    this.taps++; // into the field
    this.characters += [...text].length;
    await at.fill(text);
  }
  async pick(at, value) { this.fields++; this.taps += 2; await at.selectOption(value); }
  says() { return `${this.taps} taps, ${this.characters} characters, ${this.fields} fields, ${this.pages} pages`; }
}

const css = (name) => `[name="${name}"]`;

// tapped taps an answer that stands beside its field, or each of several; false
// where it does not.
async function tapped(hand, field, text) {
  const beside = field.locator("xpath=ancestor::*[descendant::*[@data-ready]][1]"), several = await field.getAttribute("data-several") !== null;
  const words = several ? text.split(", ") : [text], keys = words.map((w) => beside.locator(`[data-ready="${w}"]`));
  for (const k of keys) if (await k.count() !== 1) return false;
  hand.fields++;
  for (const k of keys) await hand.tap(k);
  return true;
}

// put answers one question of a form.
async function put(hand, form, path, value) {
  const field = form.locator(css("value " + path)), first = field.first();
  const [, text, known] = /^(.*?)(?: \((measured|declared|calculated)\))?$/.exec(value);
  if (!(await field.count()) || await first.getAttribute("type") === "hidden") return false;
  if (await first.getAttribute("type") === "radio") { hand.fields++; await hand.tap(form.locator(`label:has(${css("value " + path)}[value="${text}"])`)); }
  else if (await first.evaluate((e) => e.tagName) === "SELECT") await hand.pick(first, text);
  else if (!(await tapped(hand, first, text))) await hand.type(first, text);
  check(!hand.said.has(path), `${path} is asked a second time at ${hand.page.url()}`);
  hand.said.add(path);
  if (known) await hand.pick(form.locator(css("known " + path)), known);
  return true;
}

async function asked(form) {
  const folded = form.locator("details:not([open]) > summary");
  while (await folded.count()) await folded.first().tap();
  return form.locator('[name^="value "]').evaluateAll((all) => [...new Set(all.filter((e) => e.type !== "hidden").map((e) => e.name.slice(6)))]);
}

// station answers and sees one station's sheet.
async function station(hand, facts) {
  const form = hand.page.locator("form.questions");
  if (!(await form.count())) return false;
  let any = false;
  for (const path of await asked(form)) if (facts[path]) any = await put(hand, form, path, facts[path]) || any;
  const all = form.getByRole("button", { name: /^All seen/ });
  if (await all.count()) { await hand.turn(all); return true; }
  if (!any) return false;
  await hand.turn(form.getByRole("button", { name: /^Enter/ }));
  return true;
}

// read takes one reading, as the page before it says what to expect.
async function read(hand, reads = {}) {
  const { page } = hand;
  const name = await page.locator('form.taking [name="reading"]').inputValue(), at = await page.locator('form.taking [name="at"]').inputValue();
  if (await page.locator("#tester").count()) { // the first reading says with what
    await hand.tap(page.locator("details.round > summary"));
    await hand.type(page.locator("#tester"), tester.name);
    await hand.pick(page.locator("#tester-kind"), tester.kind);
    await hand.type(page.locator("#tester-serial"), tester.serial);
    await hand.type(page.locator("#tester-until"), tester["calibrated until"]);
  }
  const choice = page.locator("form.taking .pad.two button");
  if (await choice.count()) {
    hand.fields++;
    await hand.turn(choice.first()); // as it must be
    return name;
  }
  const says = await page.locator(".judged .unseen").textContent(), unit = await page.locator("[data-shown-unit]").textContent();
  const value = reads[`${name} at ${at}`] ?? shown[name] ?? likely(says, unit) ?? usual[name];
  check(value, `no value for ${name} at ${at}: ${says}`);
  const way = page.locator("#function");
  if (name.startsWith("insulation") && !(await way.inputValue())) { hand.fields++; await hand.tap(page.locator('[data-into="function"][data-ready="500 V"]')); }
  hand.fields++;
  for (const k of value) { hand.characters++; await page.locator(`[data-key="${k}"]`).tap(); }
  await hand.turn(page.locator("form.taking button.enter"));
  return `${name} ${value}`;
}

// round takes one reading at several points alike, each in the middle of its band.
async function round(hand, reads = {}) {
  const { page } = hand, name = await page.locator('form.taking [name="reading"]').inputValue(), rest = page.locator("form.taking [data-rest]");
  if (await rest.count()) {
    for (const row of await page.locator("form.taking li").all()) { await row.scrollIntoViewIfNeeded(); await page.waitForTimeout(40); }
    hand.fields++;
    await hand.turn(rest);
    return;
  }
  if (name.startsWith("insulation") && !(await page.locator("#function").inputValue())) { hand.fields++; await hand.tap(page.locator('[data-into="function"][data-ready="500 V"]')); }
  const rows = page.locator("form.taking li:has([data-keyed])"), n = await rows.count(), unit = await page.locator("form.taking [data-unit] span").textContent();
  for (let i = 0; i < n; i++) {
    const row = rows.nth(i), at = await row.getAttribute("data-at"), says = await row.locator("[data-word]").textContent();
    const [, low, high, in_] = /([0-9.]+) to ([0-9.]+) (\S+)/.exec(says) ?? [];
    const value = reads[name] ?? shown[name] ?? (low ? likely(`most likely ${(Number(low) + Number(high)) / 2} ${in_}`, unit) : undefined) ?? usual[name];
    check(value, `no value for ${name} at ${at}: ${says}`);
    hand.fields++;
    for (const k of value) { hand.characters++; await page.locator(`[data-key="${k}"]`).tap(); }
    const enter = page.locator("form.taking button.enter");
    if (i + 1 < n) await hand.tap(enter); else await hand.turn(enter);
  }
}

// certificate settles what keeps the certificate from being issued.
async function certificate(hand, facts, note) {
  const { page } = hand, tried = new Set();
  if (/\/(reading|round)\?/.test(page.url())) await hand.turn(page.getByRole("link", { name: "Back to the tests" }));
  await hand.turn(page.getByRole("navigation", { name: "This job" }).getByRole("link", { name: "Papers" }));
  await hand.turn(page.getByRole("link", { name: "Certificate", exact: true }));
  for (let i = 0; i < 40; i++) {
    if (await page.getByText("Nothing keeps the certificate from being issued.").count()) return;
    const so = page.getByRole("button", { name: "All of it is so" });
    if (await so.count()) { await hand.turn(so); continue; }
    const signs = page.getByRole("button", { name: /for all three, today$/ });
    if (await signs.count()) { await hand.turn(signs); continue; }
    const judge = page.getByRole("link", { name: /^Judge \d+ on one form/ });
    const fill = page.getByRole("link", { name: /on one form/ }).and(page.locator("a[href*='/fill?']"));
    if (await judge.count()) {
      await hand.turn(judge);
      for (const rule of await page.locator("form.wide section").all()) {
        hand.fields++;
        await hand.tap(rule.locator("label").filter({ hasText: /^accepted$/ }));
        hand.fields++;
        await hand.tap(rule.locator('[data-ready="seen on site"]'));
      }
      await hand.turn(page.locator("form.wide").getByRole("button", { name: "Enter" }));
      continue;
    }
    if (await fill.count() && !tried.has("fill")) {
      tried.add("fill");
      await hand.turn(fill);
      const form = page.locator("form.wide");
      for (const q of await asked(form)) {
        const value = facts[q] ?? (q.startsWith("people/") ? people[q.split("/").pop()] : undefined);
        if (value) await put(hand, form, q, value);
      }
      await hand.turn(form.getByRole("button", { name: "Enter" }));
      continue;
    }
    const rows = await page.locator("main ul.rows a.row").all();
    const says = await Promise.all(rows.map((r) => r.textContent()));
    const next = says.findIndex((s) => !tried.has(s));
    if (next < 0) { note(`stopped after ${hand.says()}`); check(false, `nothing leads on from: ${says.join(" | ")}`); }
    tried.add(says[next]);
    await hand.turn(rows[next]);
    await settle(hand, facts, says[next]);
    if (!page.url().includes("/certificate")) {
      await hand.turn(page.getByRole("navigation", { name: "This job" }).getByRole("link", { name: "Papers" }));
      await hand.turn(page.getByRole("link", { name: "Certificate", exact: true }));
    }
  }
}

async function settle(hand, facts, why) {
  const { page } = hand, here = new URL(page.url()).pathname.split("/").pop(), form = page.locator("form.wide");
  const enter = async () => hand.turn(form.getByRole("button", { name: "Enter", exact: true }));
  switch (here) {
    case "inspections":
      for (const row of await form.locator("fieldset.item").all()) {
        const about = (await row.locator("legend b").textContent()).toLowerCase();
        await row.scrollIntoViewIfNeeded(); // each is shown before the rest is said of it
        await page.waitForTimeout(60);
        if (doesNotApply.includes(about)) { hand.fields++; await hand.tap(row.locator("label").filter({ hasText: /^not applicable$/ })); }
      }
      await hand.turn(form.getByRole("button", { name: "The rest satisfactory" }));
      return;
    case "round":
      await round(hand);
      if (await page.locator("header.top a.arrow").count()) await hand.turn(page.getByRole("link", { name: "Back to the tests" }));
      return;
    case "reading":
      if (await page.locator("form.taking").count()) await read(hand);
      if (page.url().includes("/reading?") || await page.locator("header.top a.arrow").count()) await hand.turn(page.getByRole("link", { name: "Back to the tests" }));
      return;
    case "add":
      for (const q of await asked(form)) if (people[q.slice(1)]) await put(hand, form, q, people[q.slice(1)]);
      return enter();
    case "fill": {
      const qs = await asked(form);
      for (const q of qs) {
        const value = facts[q] ?? (q.startsWith("people/") ? people[q.split("/").pop()] : undefined);
        if (value) await put(hand, form, q, value);
      }
      return enter();
    }
    case "fact": {
      const path = await page.locator('main form.entry [name="path"]').inputValue();
      check(facts[path], `nothing is known of ${path}: ${why}`);
      const radio = page.locator(`main form.entry label:has([name="value"][value="${facts[path]}"])`);
      if (await radio.count()) { hand.fields++; await hand.tap(radio); } else await hand.type(page.locator("#value"), facts[path]);
      await hand.turn(page.locator("main form.entry button.main"));
      return;
    }
    case "sheet": {
      const person = page.locator("a[href*='people%2F']").or(page.locator("a[href*='people/']")).first();
      if (/signator/i.test(why) && await person.count()) await hand.turn(person);
      const more = page.getByRole("link", { name: "Fill in what is not known" });
      if (!(await more.isVisible())) { const s = page.getByText("More that may be known"); if (await s.count()) await hand.tap(s); }
      if (await more.count()) { await hand.turn(more); return settle(hand, facts, why); }
      return;
    }
  }
}

for (const job of jobs) test(`what ${job.name} costs, from nothing to an issued certificate`, async (note) => {
  const at = folder(), facts = { ...common, ...job.facts };
  firmKey(join(at, "keys"), "Ash (invented)", passphrase);
  const server = await Server.start("--data", join(at, "journal.sqlite"), "--keys", join(at, "keys"));
  const context = await browser(folder()), page = await context.newPage();
  await page.goto(server.base);
  await ready(page);
  const hand = new Hand(page);
  await hand.tap(page.locator(".begin label").filter({ hasText: job.template }));
  if (job.ask) await hand.type(page.locator(".begin .asked input:visible"), job.ask);
  await hand.type(page.locator("#name"), place);
  if (await page.locator("#who").count()) await hand.type(page.locator("#who"), "Ann Ash");
  await hand.turn(page.getByRole("button", { name: "Begin" }));
  note(`the job with its first verdicts after ${hand.says()}`);
  const first = hand.taps;

  for (let i = 0; i < 40; i++) { // station by station
    const open = page.locator("section.say a.key.do, .keys a.key.do").first();
    if (/\/(reading|round)\?/.test(page.url())) break;
    if (!page.url().includes("/sheet")) {
      if (!(await open.count()) || !(await open.getAttribute("href")).includes("/sheet")) break;
      await hand.turn(open);
    }
    if (!(await station(hand, facts))) break;
  }
  note(`seen after ${hand.says()}`);

  if (!/\/(reading|round)\?/.test(page.url())) await hand.turn(page.getByRole("navigation", { name: "This job" }).getByRole("link", { name: /^Test/ }));
  const testing = /\/(reading|round)\?/;
  for (let i = 0; i < 150; i++) {
    if (!testing.test(page.url())) {
      const go = page.locator("section.say .keys a.key.do").first();
      if (!(await go.count()) || !testing.test(await go.getAttribute("href"))) break;
      await hand.turn(go);
    }
    if (!(await page.locator("form.taking").count())) {
      note(`a reading does not fit: ${(await page.locator(".face").textContent()).trim().slice(0, 90)}`);
      const next = page.locator("header.top a[aria-label^='Next']");
      if (!(await next.count())) break;
      await hand.turn(next);
      continue;
    }
    if ((await page.locator('form.taking [name="reading"]').inputValue()).startsWith("pilot")) break; // no certificate asks for it
    await (page.url().includes("/round?") ? round : read)(hand, job.reads);
  }
  note(`tested after ${hand.says()}`);

  await certificate(hand, facts, note);
  note(`nothing keeps it back after ${hand.says()}`);
  await hand.type(page.getByLabel("Passphrase of the firm's key"), passphrase);
  await hand.turn(page.getByRole("button", { name: "Issue it" }));
  await page.getByRole("link", { name: "Take the file (PDF)" }).waitFor();
  note(`issued after ${hand.says()}`);
  check(first <= 8, `the first verdict takes ${first} taps, 8 at most`);
  for (const [what, most] of Object.entries(job.most)) check(hand[what] <= most, `${hand[what]} ${what}, ${most} at most: ${hand.says()}`);
  await context.close();
  await server.kill();
});
