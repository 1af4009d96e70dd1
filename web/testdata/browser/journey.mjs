// One job by one person on a phone, by touch alone: from nothing to a
// certificate that stands up to being checked. The invented job is a small one;
// what is known of it stands below, under the paths of the job record. No page
// but the first is opened by its address: where a fact is entered is found by
// following what the pages say is missing.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Server, browser, check, equal, firmKey, folder, onDevice, ready, sound, test, turn, until, verified } from "./bench.mjs";

const passphrase = "four plain words here";

// A workplace with one point indoors, on a circuit of its own.
const facts = {
  "edition": "BS 7671:2018+A4:2026", "stage": "test",
  "site/client": "The farmer (invented)", "site/client address": "Example Farm (invented)", "site/address": "Example Barn (invented)",
  "site/premises": "workplace", "site/nation": "England", "site/temperature": "12 °C", "site/visited": "2026-11-20",
  "supply/earthing": "TN-S", "supply/phases": "1", "supply/voltage": "230 V", "supply/frequency": "50 Hz", "supply/polarity confirmed": "yes",
  "supply/looped": "no", "supply/unmetered": "no", "supply/private": "no", "supply/capacity agreed": "no", "supply/generation or storage": "no", "notification/feeds back": "no", "supply/tails/method": "C", "supply/tails/insulation": "70 °C thermoplastic", "supply/service equipment": "sound", "supply/supply neutral": "25 mm²",
  "supply/cut-out/type": "BS 88-3", "supply/cut-out/rating": "80 A", "supply/cut-out/breaking capacity": "33 kA",
  "supply/Ze": "0.24 Ω (measured)", "supply/Ipf": "1.1 kA (measured)", "supply/maximum demand": "20 A (measured)",
  "supply/tails/csa": "25 mm²", "supply/tails/length": "1 m",
  "supply/earthing conductor/csa": "16 mm²", "supply/earthing conductor/length": "1 m", "supply/earthing conductor/connected": "yes", "supply/earthing conductor/buried": "no",
  "boards/main board/fed from": "supply", "boards/main board/place": "by the barn door", "boards/main board/phases": "1", "boards/main board/ways": "12", "boards/main board/ways free": "6", "boards/main board/rated current": "100 A",
  "boards/main board/short-circuit rating": "16 kA", "boards/main board/rated diversity factor": "0.8",
  "boards/main board/main switch/standard": "BS EN 60947-3", "boards/main board/main switch/poles": "2", "boards/main board/main switch/rating": "100 A", "boards/main board/main switch/voltage": "230 V",
  "circuits/charge point/from": "main board", "circuits/charge point/way": "2", "circuits/charge point/to": "CP1", "circuits/charge point/phases": "L1", "circuits/charge point/existing": "no",
  "circuits/charge point/device/type": "BS EN 61009 type B", "circuits/charge point/device/rating": "40 A", "circuits/charge point/device/breaking capacity": "6 kA", "circuits/charge point/device/poles": "all live",
  "circuits/charge point/RCD/type": "A", "circuits/charge point/RCD/IΔn": "30 mA", "circuits/charge point/RCD/rating": "40 A", "circuits/charge point/RCD/poles": "all live", "circuits/charge point/RCD/time delayed": "no", "circuits/charge point/isolator rating": "0 A",
  "circuits/charge point/cable/construction": "flat twin and cpc", "circuits/charge point/cable/insulation": "70 °C thermoplastic", "circuits/charge point/cable/material": "copper", "circuits/charge point/cable/csa": "10 mm²",
  "circuits/charge point/terminals rated": "70 °C",
  "circuits/charge point/legs/first leg/length": "12 m", "circuits/charge point/legs/first leg/length known by": "measured", "circuits/charge point/legs/first leg/method": "C", "circuits/charge point/legs/first leg/ambient": "30 °C",
  "circuits/charge point/legs/first leg/circuits together": "1", "circuits/charge point/legs/first leg/in insulation": "0 m",
  "points/CP1/power": "7.4 kW", "points/CP1/phases": "1", "points/CP1/outlet": "tethered", "points/CP1/outdoors": "no", "points/CP1/public": "no", "points/CP1/6 mA d.c. detection": "yes",
  "points/CP1/open-PEN device": "none", "points/CP1/limiter": "none", "points/CP1/standing leakage": "3.5 mA", "points/CP1/greatest upstream device": "40 A", "points/CP1/least current": "6 A", "points/CP1/IP": "IP55", "points/CP1/IK": "IK08",
  "points/CP1/make and model": "a make and model (invented)", "points/CP1/serial": "invented-CP1",
  "points/CP1/mounting/place": "barn wall", "points/CP1/mounting/underside": "850 mm", "points/CP1/mounting/outlet height": "1000 mm", "points/CP1/mounting/highest control": "1150 mm", "points/CP1/mounting/top": "1200 mm", "points/CP1/mounting/screen": "no",
  "certificate/work": "addition", "certificate/extent": "One charging circuit from the main board to CP1, and the point", "certificate/completed": "2026-11-24",
  "certificate/existing installation": "board and bonding sound as far as seen", "certificate/earlier records": "none", "certificate/no departures": "yes", "certificate/nothing to bond": "gas, oil, structural steel, lightning protection",
  "certificate/inspect again within months": "60", "certificate/reason for interval": "a dry barn, one user",
};

// Items of lists, each with what the form of a new one asks.
const items = {
  "people": [{ name: "A. Spark", firm: "Sparks and Daughter (invented)", address: "2 Terminal Row (invented)", telephone: "none (invented)" }],
  "instruments": [{ name: "tester 1", kind: "multifunction", serial: "invented-1", "calibrated until": "2027-03-01" }],
  "supply/main bonding": [{ to: "water", csa: "10 mm²", length: "5 m", connected: "yes" }],
  "boards/main board/surge protection": [{ name: "SPD 1", type: "2", connection: "CT2", "protection level": "1.4 kV", "live lead": "200 mm", "earth lead": "250 mm", "live lead csa": "6 mm²", "earth lead csa": "16 mm²", "greatest backup fuse": "125 A" }],
  "certificate/signing": [{ for: "all three", name: "A. Spark", date: "2026-11-24" }],
};

// What the instruments show.
const readings = {
  "continuity": "0.01", "R1+R2": "0.074", "R2": "0.052", "insulation live to earth": ">200", "insulation between live": ">200", "polarity": "correct", "Ze": "0.24", "Zs": "0.32", "Ipf": "1.1",
  "RCD time at IΔn": "27", "RCD at half IΔn": "does not trip", "RCD test button": "works", "6 mA d.c.": "4.8", "SPD indicator": "good",
};
const functions = { "insulation live to earth": "500 V d.c.", "insulation between live": "500 V d.c.", "Zs": "no-trip" };

const doesNotApply = ["other sources", "other protection against shock", "bath and shower places", "generation and storage", "lost PEN conductor"];

const exactly = (text) => new RegExp(`^${text.replace(/[-.+()*?[\]{}|\\^$]/g, "\\$&")}$`);
const css = (name) => `[name="${name.replaceAll('"', '\\"')}"]`;

// apart takes how a value is known, and its unit, off it.
function apart(value) {
  const [, text, known] = /^(.*?)(?: \((measured|declared|calculated|assumed)\))?$/.exec(value);
  const [, number, unit] = /^([0-9.]+) (\S+)$/.exec(text) ?? [null, text, ""];
  return { text, known, number, unit };
}

// put answers one question of a form, in whichever way it is asked.
async function put(page, form, path, value) {
  const field = form.locator(css("value " + path));
  const { text, known, number, unit } = apart(value);
  const first = field.first(), kind = await first.getAttribute("type");
  if (kind === "hidden") return;
  if (kind === "radio") await form.locator(`label:has(${css("value " + path)})`).filter({ hasText: exactly(text) }).tap();
  else if (await first.evaluate((e) => e.tagName) === "SELECT") await first.selectOption(text);
  else {
    const units = form.locator(`label:has(${css("unit " + path)})`);
    if (await units.count()) { await units.filter({ hasText: exactly(unit) }).tap(); await first.fill(number); } else await first.fill(text);
  }
  if (known) await form.locator(css("known " + path)).selectOption(known);
}

// questions are the paths that a form asks about, folded ones unfolded.
async function questions(page, form) {
  const folded = form.locator("details:not([open]) > summary");
  while (await folded.count()) await folded.first().tap();
  return form.locator('[name^="value "]').evaluateAll((all) => [...new Set(all.map((e) => e.name.slice("value ".length)))]);
}

// step does what the page at hand asks for; it answers whether it could.
async function step(page, left) {
  const here = new URL(page.url()).pathname.split("/").pop();
  if (here === "fill") {
    const form = page.locator("form.wide");
    const known = (await questions(page, form)).filter((q) => facts[q]);
    for (const q of known) await put(page, form, q, facts[q]);
    if (known.length) await turn(page, () => form.getByRole("button", { name: "Enter" }).tap());
    return known.length;
  }
  if (here === "fact") {
    const path = await page.locator('main form.entry [name="path"]').inputValue(), value = facts[path];
    if (!value) return 0;
    const { text, known, number, unit } = apart(value);
    const radio = page.locator('.choice label:has([name="value"])');
    if (await radio.count()) await radio.filter({ hasText: exactly(text) }).tap();
    else {
      const units = page.locator('label:has([name="unit"])');
      if (await units.count()) await units.filter({ hasText: exactly(unit) }).tap();
      const keypad = page.locator("[data-keypad]");
      if (await keypad.isVisible()) for (const k of unit ? number : text) await page.locator(`[data-key="${k}"]`).tap();
      else await page.locator("#value").fill(text);
    }
    if (known) await page.locator('label:has([name="known"])').filter({ hasText: exactly(known) }).tap();
    await turn(page, () => page.getByRole("button", { name: "Enter", exact: true }).tap());
    return 1;
  }
  if (here === "add") {
    const form = page.locator("form.wide"), list = await form.locator('[name="list"]').inputValue();
    if (list === "judgements") {
      await put(page, form, "/outcome", "accepted");
      await put(page, form, "/reason", "seen on site, and found good (invented)");
      await turn(page, () => form.getByRole("button", { name: "Enter" }).tap());
      return 1;
    }
    const item = (left[list] ?? []).shift();
    if (!item) return 0;
    const key = form.locator("#key");
    for (const q of await questions(page, form)) if (item[q.slice(1)]) await put(page, form, q, item[q.slice(1)]);
    if (await key.count()) await key.fill(item.name ?? item.to);
    await turn(page, () => form.getByRole("button", { name: "Enter" }).tap());
    return 1;
  }
  if (here === "reading") {
    const again = page.getByRole("link", { name: "Read again" });
    if (await again.count()) await turn(page, () => again.tap());
    const name = await page.locator('main form.taking [name="reading"]').inputValue(), value = readings[name];
    if (!value) return 0;
    if (functions[name]) {
      await page.locator(".round > summary").tap();
      await page.getByLabel("How it was measured").fill(functions[name]);
      await page.locator(".round > summary").tap();
    }
    const seen = page.locator(`.pad.two button[value="${value}"]`);
    if (await seen.count()) await seen.tap();
    else {
      for (const k of value) await page.locator(`[data-key="${k}"]`).tap();
      await page.getByRole("button", { name: "Enter", exact: true }).tap();
    }
    await page.locator("main .notice", { hasText: name }).waitFor();
    return 1;
  }
  if (here === "inspections") {
    for (const row of await page.locator("fieldset.across").all()) {
      const about = (await row.locator("legend b").textContent()).toLowerCase();
      await row.locator("label").filter({ hasText: exactly(doesNotApply.includes(about) ? "not applicable" : "satisfactory") }).tap();
    }
    await turn(page, () => page.locator("form.wide").getByRole("button", { name: "Enter" }).tap());
    return 1;
  }
  if (here === "sheet" && await page.locator("form.questions").count()) {
    const form = page.locator("form.questions");
    const known = (await questions(page, form)).filter((q) => facts[q]);
    for (const q of known) await put(page, form, q, facts[q]);
    if (known.length) {
      await turn(page, () => form.getByRole("button", { name: /^Enter/ }).tap());
      return known.length;
    }
  }
  if (here === "sheet") { // one thing more than was there before: what is open, or a list that wants an item
    for (const add of await page.locator('a[href*="/add?"]').all()) {
      const list = new URL(await add.getAttribute("href"), page.url()).searchParams.get("list");
      if (left[list]?.length) { await turn(page, () => add.tap()); return step(page, left); }
    }
    const fill = page.getByRole("link", { name: "Fill in what is not known" });
    if (!(await fill.count())) return 0;
    await page.getByText("More that may be known").tap();
    await turn(page, () => fill.tap());
    return step(page, left);
  }
  return 0;
}

for (const signal of ["with signal", "most of it without signal"]) test(`from nothing to an issued certificate, by touch alone on a phone, ${signal}`, async (note) => {
  const at = folder(), lost = signal !== "with signal";
  firmKey(join(at, "keys"), "Sparks and Daughter (invented)", passphrase);
  const server = await Server.start("--data", join(at, "journal.sqlite"), "--keys", join(at, "keys"));
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(server.base);
  await ready(page);
  await page.getByRole("link", { name: "Who works?" }).tap();
  await page.getByLabel("Name").fill("A. Spark");
  await page.getByRole("button", { name: "Keep" }).tap();
  await page.getByLabel("What the job is called").fill("Barn, one point");
  await page.getByRole("button", { name: "Begin" }).tap();
  await page.locator(".say h1").waitFor();
  const job = new URL(page.url()).pathname.split("/").pop();
  const certificate = async () => {
    const back = page.getByRole("link", { name: "Back to the tests" });
    if (await back.count()) await turn(page, () => back.tap());
    await turn(page, () => page.getByRole("navigation", { name: "This job" }).getByRole("link", { name: "Papers" }).tap());
    await turn(page, () => page.getByRole("link", { name: "Certificate", exact: true }).tap());
    await page.getByRole("heading", { name: "Certificate", level: 1 }).waitFor();
  };

  const left = structuredClone(items), tried = new Set();
  let forms = 0, since = -1, gone = false;
  for (;;) {
    if (lost && !gone && forms > 3) {
      await onDevice(page, job);
      await server.kill();
      gone = true;
    }
    await certificate();
    if (await page.getByText("Nothing keeps the certificate from being issued.").isVisible()) break;
    const gaps = await page.locator("main ul.rows a.row").all();
    const says = await Promise.all(gaps.map((g) => g.textContent()));
    const together = page.getByRole("link", { name: /^Fill in .* on one form/ });
    if (await together.count() && !tried.has("together")) {
      tried.add("together");
      await turn(page, () => together.tap());
      forms += await step(page, left) ? 1 : 0;
      continue;
    }
    let next = says.findIndex((s) => !tried.has(s));
    if (next < 0 && forms > since) {
      since = forms;
      tried.clear();
      next = 0;
    }
    check(next >= 0, `nothing leads on from: ${says.join(" | ")}`);
    tried.add(says[next]);
    await turn(page, () => gaps[next].tap());
    if (await step(page, left)) {
      forms++;
      const wrong = page.locator(".wrong");
      check(!(await wrong.count()), `refused: ${await wrong.allTextContents()}`);
    }
    check(forms < 200, "it goes round in circles");
  }
  note(`${forms} forms from nothing to a certificate`);
  check(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "wider than the phone");
  if (lost) {
    check(await page.getByText("Without the server.").isVisible(), "the page does not say that the server is away");
    await server.start();
    await until(async () => { await certificate(); return page.getByRole("button", { name: "Issue it" }).isVisible(); }, "all is sent, and the certificate can be issued", 30000);
  }
  await page.getByLabel("Passphrase of the firm's key").fill(passphrase);
  await page.getByRole("button", { name: "Issue it" }).tap();
  const take = page.getByRole("link", { name: "Take the file (PDF)" });
  await take.waitFor();
  const handed = page.waitForEvent("download");
  await take.tap();
  const file = join(at, (await handed).suggestedFilename());
  await (await handed).saveAs(file);
  equal(readFileSync(file).subarray(0, 5).toString(), "%PDF-", "the certificate");
  check(verified(file, join(at, "keys")).includes("unchanged  yes"), "the certificate is not verified");
  await context.close();
  await server.kill();
});
