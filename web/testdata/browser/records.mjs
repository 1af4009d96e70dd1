// Charging records and the clamp's recordings on a phone: sent, matched,
// answered, taken away, with the server and without.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Server, browser, check, equal, folder, onDevice, phone, ready, sound, test } from "./bench.mjs";

const example = (name) => join(process.env.EXAMPLES, name);
const written = (name, text) => ({ name, mimeType: "text/csv", buffer: Buffer.from(text) });

const open = (page, summary) => page.locator("summary", { hasText: summary }).tap();
const answer = (page) => page.getByRole("button", { name: "Make out the statement" }).tap();

async function taken(page, name) {
  const handed = page.waitForEvent("download");
  await page.getByRole("button", { name }).tap();
  return readFileSync(await (await handed).path(), "utf8");
}

for (const script of [true, false]) test(`charging records matched, compared and claimed by touch ${script ? "at 360 px" : "without script"}`, async () => {
  const server = await Server.start("--demo");
  const job = await server.job("Bakery");
  const context = await browser(folder(), { ...phone, bypassCSP: script, serviceWorkers: "block", javaScriptEnabled: script });
  const page = await context.newPage();
  const checked = async (what) => { if (script) await sound(page, what); };
  await page.goto(`${server.base}/jobs/${job}/charging`);
  await checked("the empty form");
  await page.locator("#record").setInputFiles(written("site.csv", "Beginn;Ende;Menge;Karte\n2026-10-05 12:00;2026-10-05 13:00;6,5;VAN-1\n2026-10-06 12:00;2026-10-06 13:00;7;CAR-1\n"));
  await page.locator("#tariff").setInputFiles(example("tariffs/night.csv"));
  await answer(page);
  await page.getByRole("alert").getByText("no column says when a session started").waitFor();
  await checked("the choice of columns");
  await page.getByLabel("start", { exact: true }).selectOption("Beginn");
  await page.getByLabel("stop", { exact: true }).selectOption("Ende");
  await page.getByLabel("energy", { exact: true }).selectOption("Menge");
  await page.getByLabel("Energies without a unit are in").selectOption("kWh");
  await open(page, "Further columns");
  await page.getByLabel("card", { exact: true }).selectOption("Karte");
  await open(page, "Who holds which card");
  await page.locator("#cards").setInputFiles(example("bakery/cards.csv"));
  await open(page, "What if");
  await page.locator("#then").setInputFiles(example("tariffs/flat.csv"));
  await open(page, "Miles on business");
  await page.locator("#journeys").setInputFiles(example("bakery/journeys.csv"));
  await page.locator("#mileage").setInputFiles(example("bakery/mileage.csv"));
  await page.getByLabel("Made out by", { exact: true }).selectOption("person");
  await answer(page);
  await page.locator("#statement").getByText("D. Driver (invented)").waitFor();
  await page.locator("#claim").getByText("£15.33").waitFor(); // by hand: 192.3 miles at 7 p and 24.9 at 7.5 p
  await page.locator("#what-if").getByText("tariff flat").waitFor();
  await checked("the statement");
  const rows = (await taken(page, "Statement as PDF")).slice(0, 5);
  equal(rows, "%PDF-", "the statement");
  await page.locator("form .held", { hasText: "flat.csv" }).getByLabel("Put it away").tap();
  await answer(page);
  await page.locator("#statement").waitFor();
  equal(await page.locator("#what-if").count(), 0, "what is put away is compared with");
  check(await page.locator(".held", { hasText: "site.csv" }).isVisible(), "the records are no longer in hand");
  await context.close();
  await server.kill();
});

for (const script of [true, false]) test(`a clamp's recordings matched and judged by touch ${script ? "at 360 px" : "without script"}`, async () => {
  const server = await Server.start("--demo");
  const job = await server.job("Bakery");
  const context = await browser(folder(), { ...phone, bypassCSP: script, serviceWorkers: "block", javaScriptEnabled: script });
  const page = await context.newPage();
  const text = readFileSync(example("bakery/clamp/reversed.csv"), "utf8").replace("time,L1 A,L2 A,L3 A", "Uhr,a,b,c");
  await page.goto(`${server.base}/jobs/${job}/clamp`);
  await open(page, "Two recordings");
  if (script) await sound(page, "the clamp's form");
  await page.locator("#line-recordings").selectOption("L2");
  await page.locator("#site").setInputFiles(written("house.csv", text));
  await page.locator("#point").setInputFiles(example("bakery/clamp/point.csv"));
  await page.getByRole("button", { name: "Judge the recordings" }).tap();
  await page.getByRole("alert").getByText("no column is headed time or date").waitFor();
  if (script) await sound(page, "the clamp's columns");
  await page.locator("#site-column-time").selectOption("Uhr");
  for (const [line, c] of [["L1", "a"], ["L2", "b"], ["L3", "c"]]) await page.locator(`#site-column-${line}`).selectOption(c);
  await page.getByRole("button", { name: "Judge the recordings" }).tap();
  await page.getByText("reversed (").first().waitFor({ state: "attached" });
  if (script) await sound(page, "the clamp's verdict");
  await context.close();
  await server.kill();
});

test("without the server: records matched, claimed and taken away; a clamp judged", async (note) => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const { job } = await server.json("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body: readFileSync(example("bakery/job.yaml")) });
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}`);
  await ready(page);
  await page.goto(`${server.base}/jobs/${job}`);
  await onDevice(page, job);
  await server.kill();
  await page.goto(`${server.base}/jobs/${job}/charging`);
  await page.getByText("Without the server.").waitFor();
  await page.locator("#record").setInputFiles(written("site.csv", readFileSync(example("bakery/sessions.csv"), "utf8").replace("plugged in,", "Beginn,")));
  await page.locator("#tariff").setInputFiles(example("tariffs/night.csv"));
  await answer(page);
  await page.getByRole("alert").getByText("no column says when a session started").waitFor();
  await page.getByLabel("start", { exact: true }).selectOption("Beginn");
  await open(page, "Miles on business");
  await page.locator("#journeys").setInputFiles(example("bakery/journeys.csv"));
  await page.locator("#mileage").setInputFiles(example("bakery/mileage.csv"));
  await answer(page);
  await page.locator("#statement").getByText("1526.02").first().waitFor();
  await page.locator("#claim").getByText("£15.33").waitFor();
  equal((await taken(page, "Statement as PDF")).slice(0, 5), "%PDF-", "the statement");
  await open(page, "Other files to take with you");
  const csv = await taken(page, "Statement as CSV");
  check(csv.startsWith("month,sessions,"), `the statement as CSV begins ${csv.slice(0, 40)}`);
  note(`${csv.split("\n").length} lines taken away without the server`);
  await page.goto(`${server.base}/jobs/${job}/clamp`);
  await open(page, "Two recordings");
  await page.locator("#line-recordings").selectOption("L2");
  await page.locator("#site").setInputFiles(example("bakery/clamp/reversed.csv"));
  await page.locator("#point").setInputFiles(example("bakery/clamp/point.csv"));
  await page.getByRole("button", { name: "Judge the recordings" }).tap();
  await page.getByText("reversed (").first().waitFor({ state: "attached" });
  await context.close();
});
