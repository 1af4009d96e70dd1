// What is worked out for a job: chosen, earthed, routed, solved, run through
// time, on a phone by touch, with the server and without it.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Server, browser, check, equal, folder, onDevice, phone, ready, sound, test, turn, until } from "./bench.mjs";


async function bring(server, file) {
  return (await server.json("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body: readFileSync(`${process.env.EXAMPLES}/${file}`) })).job;
}

const actsOf = async (server, job) => (await server.json(`/api/v1/jobs/${job}/acts`)).acts;

test("chosen and put into the job by touch, taken back, and again with the server gone", async (note) => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const job = await bring(server, "bakery/open.yaml");
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}/parts`);
  await ready(page);
  await page.getByRole("link", { name: "Choose what is open" }).tap();
  await page.getByRole("button", { name: /^Put all \d+ into the job$/ }).tap();
  await page.locator(".notice", { hasText: "chosen by least first cost" }).waitFor();
  await page.getByText("Nothing is left open that can be chosen.").waitFor();
  let acts = await actsOf(server, job);
  equal(acts.length, 2, "acts after the choice");
  note(`${acts[1].entries.length} facts in one act`);
  await turn(page, () => page.getByRole("button", { name: "Take it back" }).tap());
  await until(async () => (await actsOf(server, job)).length === 3, "the choice is taken back");
  const whole = await bring(server, "bakery/job.yaml");
  for (const one of [whole, job]) {
    await page.goto(`${server.base}/jobs/${one}/choose`);
    await onDevice(page, one);
  }
  await server.kill();
  await page.goto(`${server.base}/jobs/${job}/choose`);
  await page.getByText("Without the server.").waitFor();
  await page.getByLabel("Best by").selectOption("fewest");
  await page.getByRole("button", { name: "Choose again" }).tap();
  await page.getByText("by fewest different materials").waitFor();
  const from = Date.now();
  await page.locator("section.boxed", { hasText: "Circuit van point" }).getByRole("button", { name: "Put this alone into the job" }).tap();
  await page.locator(".notice", { hasText: "chosen by fewest different materials: circuit van point" }).waitFor();
  note(`one part without the server ${Date.now() - from} ms`);
  for (const [path, button, shown] of [["demand", "Work out the demand", "By simulation"], ["limit", "Run it", "from seed 1"]]) {
    await page.goto(`${server.base}/jobs/${whole}/${path}`);
    await page.locator("#runs").fill("1");
    const began = Date.now();
    await page.getByRole("button", { name: button }).tap();
    await page.getByText(shown).first().waitFor({ timeout: 30000 });
    note(`a year for ${path} without the server ${Date.now() - began} ms`);
  }
  await page.goto(`${server.base}/jobs/${job}/meter`);
  await page.getByText("Not from here.").waitFor();
  await page.goto(`${server.base}/jobs/${job}/pilot`);
  await page.getByLabel("Positive level, V").fill("6.02");
  await page.getByRole("button", { name: "Judge the pilot" }).tap();
  await page.locator("#says .boxed > p", { hasText: "6.02 V is state C" }).first().waitFor();
  await page.getByRole("button", { name: "Keep it in the record" }).tap();
  await page.locator(".notice", { hasText: "control pilot of CP1" }).waitFor();
  await server.start();
  await page.goto(`${server.base}/jobs/${job}`);
  await until(async () => (await actsOf(server, job)).length === 5, "what was done is on the server", 20000);
  acts = await actsOf(server, job);
  check(acts[3].what.startsWith("chosen by fewest") && acts[4].what.startsWith("control pilot"), `the order is ${acts.map((a) => a.what)}`);
  await context.close();
  await server.kill();
});

test("what is worked out for a job: WCAG 2.2 AA by axe, targets of 48 px, no sideways scroll", async (note) => {
  const server = await Server.start("--demo");
  const job = await bring(server, "bakery/open.yaml");
  const done = await server.job("Bakery, one");
  const context = await browser(folder(), { ...phone, bypassCSP: true, serviceWorkers: "block" });
  const page = await context.newPage();
  const paths = [`${job}/choose`, `${job}/options`, `${job}/earthing?soil=100&upper=300`, `${job}/route`, `${done}/route`, `${done}/flow?touching=L1-PE&at=CP1`, `${done}/flow?touching=L1-PE&at=moon`, `${done}/demand`, `${done}/limit`, `${done}/pilot`, `${done}/hear`, `${done}/meter`, `${done}/parts`];
  for (const path of paths) {
    await page.goto(`${server.base}/jobs/${path}`);
    await sound(page, path, true);
  }
  const answers = [["demand", "Work out the demand", { "#runs": "1" }, ["#recording", "bakery/logger.csv"]], ["limit", "Run it", { "#runs": "1" }, ["#recording", "bakery/logger.csv"]], ["pilot", "Judge the pilot", { "#duty": "53.3" }, ["#trace", "bakery/pilot.csv"]], ["hear", "Tell it", {}, ["#log", "bakery/ocpp.log"]]];
  for (const [path, button, fields, [input, file]] of answers) {
    await page.goto(`${server.base}/jobs/${done}/${path}`);
    for (const [field, value] of Object.entries(fields)) await page.locator(field).fill(value);
    await page.locator(input).setInputFiles(`${process.env.EXAMPLES}/${file}`);
    await turn(page, () => page.getByRole("button", { name: button }).tap());
    equal(await page.locator("[role=alert]").count(), 0, `${path} is refused`);
    await sound(page, `the answer of ${path}`, true);
  }
  note(`${paths.length + answers.length} pages`);
  await context.close();
  await server.kill();
});
