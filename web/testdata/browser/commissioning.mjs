// Issued certificates and commissioning runs, by touch on a small phone.
import { spawn } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { Server, account, browser, check, equal, firmKey, folder, onDevice, phone, ready, sound, test, verified } from "./bench.mjs";


const password = "correct horse battery", passphrase = "four plain words here";

async function signIn(page, base, name) {
  await page.goto(base + "/sign-in");
  await page.getByLabel("Name").fill(name);
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Sign in", exact: true }).tap();
  await page.getByRole("heading", { name: "New job" }).waitFor();
}

// pretendedPoint joins at an address, as a point with that password in it.
function pretendedPoint(address, identity, secret) {
  const file = join(folder(), "password");
  writeFileSync(file, secret);
  return spawn(process.env.SERVER, ["pretend", "--connect", address, "--identity", identity, "--password-from", file, "--quiet"], { stdio: "ignore" });
}

test("a certificate issued by a double tap without script is one issue, and the office takes it again", async () => {
  const at = folder(), data = join(at, "journal.sqlite"), keys = join(at, "keys");
  firmKey(keys, "Sparks and Daughter (invented)", passphrase);
  account(data, "Sue", "supervisor", password);
  account(data, "Olga", "office", password);
  const server = await Server.start("--data", data, "--keys", keys);
  const plain = await browser(folder(), { ...phone, javaScriptEnabled: false });
  const mine = await plain.newPage();
  await signIn(mine, server.base, "Sue");
  await mine.getByText("Bring in a job file").first().tap().catch(() => {});
  await mine.locator('input[type="file"]').setInputFiles(process.env.EXAMPLES + "/bakery/complete.yaml");
  await mine.locator('form[action="/jobs/bring"] button').click();
  await mine.getByRole("navigation").getByRole("link", { name: "Papers" }).tap();
  await mine.getByText("None of this job.").waitFor();
  await mine.getByRole("link", { name: "Certificate", exact: true }).tap();
  await mine.getByLabel("Passphrase of the firm's key").fill(passphrase);
  const box = await mine.getByRole("button", { name: "Issue it" }).boundingBox();
  for (let i = 0; i < 2; i++) await mine.touchscreen.tap(box.x + box.width / 2, box.y + box.height / 2);
  const take = mine.getByRole("link", { name: "Take the file (PDF)" });
  await take.waitFor();
  equal(await mine.getByLabel("Passphrase of the firm's key").inputValue(), "", "the passphrase left standing");
  const handed = mine.waitForEvent("download");
  await take.tap();
  await handed;
  await mine.getByRole("navigation").getByRole("link", { name: "Papers" }).tap();
  await mine.getByText("issue 1: the latest issue").waitFor();
  equal(await mine.locator("[data-issue]").count(), 1, "issues after a double tap");
  await mine.getByRole("link", { name: "Certificate", exact: true }).tap();
  await mine.getByText("The record is still the one it was made from.").waitFor();
  await plain.close();

  const office = await browser(folder(), { ...phone, bypassCSP: true, serviceWorkers: "block" });
  const page = await office.newPage();
  await signIn(page, server.base, "Olga");
  await page.locator("a.row", { hasText: "Bakery" }).tap();
  await page.getByRole("navigation").getByRole("link", { name: "Papers" }).tap();
  await page.getByText("What verifying it finds").tap();
  await page.getByText("yes: the data and all").waitFor();
  await sound(page, "the papers with an issued certificate", true);
  const again = page.waitForEvent("download");
  await page.getByRole("link", { name: /^File of .*issue 1, as PDF$/ }).tap();
  const file = join(at, (await again).suggestedFilename());
  await (await again).saveAs(file);
  check(verified(file, keys).includes("unchanged  yes"), "what the office takes is not verified");
  await page.getByRole("link", { name: "Verify a certificate" }).tap();
  await page.getByLabel("Certificates as PDF").setInputFiles(file);
  await page.getByRole("button", { name: "Verify" }).tap();
  await page.getByText("Unchanged, by the firm's key").waitFor();
  await sound(page, "a certificate verified", true);
  await page.goBack();
  await page.goBack();
  await page.getByRole("link", { name: "Certificate", exact: true }).tap();
  check(!(await page.getByLabel("Passphrase of the firm's key").count()), "the office is offered to issue");
  await office.close();
  await server.kill();
});

test("a run begun with a password shown once, then read among the past runs, also without the server", async () => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const yaml = readFileSync(process.env.EXAMPLES + "/bakery/job.yaml");
  const { job } = await server.json("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body: yaml });
  const context = await browser(folder(), { ...phone, bypassCSP: true });
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}`);
  await ready(page);
  const commissioning = `${server.base}/jobs/${job}/commissioning?point=CP1`;
  await page.goto(commissioning);
  await sound(page, "the form of a run, all of it open", true);
  for (const step of await page.locator('input[name="leave-out"]').all()) if (!["identity", "settings", "clock"].includes(await step.inputValue())) await step.check();
  await page.getByLabel("Modbus address of the meter").fill("none");
  await page.getByRole("button", { name: "Begin", exact: true }).tap();
  await page.getByRole("alert").filter({ hasText: "1 to 247" }).waitFor();
  check(await page.locator('input[value="delay"]').isChecked(), "a step that is left out is lost where the form is refused");
  await sound(page, "a run that was refused", true);
  await page.getByLabel("Modbus address of the meter").fill("1");
  await page.getByRole("button", { name: "Begin", exact: true }).tap();
  await page.getByText("Shown this once.").waitFor();
  const password = (await page.locator("code.password").textContent()).trim();
  check(/^[0-9a-f]{32}$/.test(password), `the password reads ${password}`);
  const address = await page.getByText(/^ws:/).first().textContent();
  await sound(page, "the password of a link", true);
  await page.getByRole("link", { name: "It is keyed in" }).tap();
  await page.getByText("Waiting for the point to join.").waitFor();
  const stranger = pretendedPoint(address.replace("CP1", "CP7"), "CP7", password);
  await page.getByText("no charge point of that name is expected here").waitFor();
  await sound(page, "a run with somebody turned away", true);
  stranger.kill();
  const point = pretendedPoint(address, "CP1", password);
  await page.getByRole("heading", { name: "The run has ended" }).waitFor({ timeout: 60000 });
  point.kill();
  check(!(await page.content()).includes(password), "the page of the run shows the password");
  check(!server.said.includes(password) && server.said.includes("CP7"), "the log holds the password, or not the stranger");
  await page.goto(commissioning);
  await page.locator(".past summary").tap();
  await page.locator(".past").getByText("introduces itself and is the point of the job").waitFor();
  await sound(page, "a past run", true);
  await onDevice(page, job, "runs/");
  await server.kill();
  await page.goto(commissioning);
  await page.getByText("Without the server.").waitFor();
  await page.locator(".past summary").tap();
  await page.locator(".past").getByText("introduces itself and is the point of the job").waitFor();
  await page.locator(".past").getByText("security profile 1").waitFor();
  await context.close();
});
