// Takes pictures of every screen of a server's jobs, light and dark, on a phone
// upright and on its side and on a desk, to be looked at:
//   chargewright serve --demo
//   node look.mjs ADDRESS FOLDER [part of a screen's name]
import { mkdirSync } from "node:fs";
import { chromium } from "playwright-core";

const [base, folder, only = ""] = process.argv.slice(2);
mkdirSync(folder, { recursive: true });
const { jobs } = await (await fetch(base + "/api/v1/jobs")).json();
const of = (name) => "/jobs/" + jobs.find((j) => j.name.includes(name)).id;
const house = of("Terraced"), pool = of("Pool"), bakery = of("Bakery");
const reading = (job, at, reading) => `${job}/reading?${new URLSearchParams({ at, reading })}`;
const screens = [
  ["jobs", "/"], ["reckon", "/reckon"], ["me", "/me"], ["away", "/away"],
  ["line", house], ["line-of-twelve", pool], ["line-of-a-workplace", bakery], ["next", house + "/next"], ["rules", house + "/rules"], ["under-the-name", house + "/parts"],
  ["station-supply", house + "/sheet?of=street"], ["station-cable", house + "/sheet?of=circuits/EV point/cable"], ["station-device", house + "/sheet?of=circuits/EV point"],
  ["station-point", house + "/sheet?of=points/CP1"], ["alike", pool + "?like=points/CP1"], ["fill", house + "/fill?of=points/CP1"], ["fact", house + "/fact?path=supply/Ze"], ["add", house + "/add?list=circuits"],
  ["tests", house + "/readings"], ["reading", reading(house, "CP1", "R1+R2")], ["reading-fits", reading(house, "CP1", "Zs"), "0.31"], ["reading-too-high", reading(house, "CP1", "R1+R2"), "0.45"],
  ["reading-by-eye", reading(house, "CP1", "polarity")], ["why", house + "/why"], ["inspections", house + "/inspections"],
  ["round", `${pool}/round?${new URLSearchParams({ at: "CP1", reading: "R1+R2" })}`], ["round-by-eye", `${pool}/round?${new URLSearchParams({ at: "CP1", reading: "polarity" })}`],
  ["judgements", house + "/judgements"], ["papers", house + "/papers"], ["certificate", house + "/certificate"], ["commissioning", bakery + "/commissioning?point=CP1"],
  ["choose", house + "/choose"], ["options", house + "/options"], ["earthing", house + "/earthing"], ["flow", house + "/flow"], ["demand", bakery + "/demand"], ["limit", bakery + "/limit"],
  ["route", house + "/route"], ["pictures", house + "/pictures"], ["history", house + "/history"], ["photos", house + "/photos"],
].filter(([name]) => name.includes(only));

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"] });
for (const [size, width, height] of [["360x640", 360, 640], ["360x740", 360, 740], ["740x360", 740, 360], ["1440x900", 1440, 900]]) for (const colorScheme of ["light", "dark"]) {
  const hand = width < 1000;
  const context = await browser.newContext({ viewport: { width, height }, colorScheme, hasTouch: hand, isMobile: hand, deviceScaleFactor: hand ? 2 : 1, serviceWorkers: "block" });
  const page = await context.newPage();
  for (const [name, path, keys = ""] of screens) {
    await page.goto(base + path);
    for (const k of keys) await page.locator(`[data-key="${k}"]`).click();
    if (keys) await page.waitForTimeout(1000);
    await page.screenshot({ path: `${folder}/${name}-${size}-${colorScheme}.png` });
  }
  await context.close();
}
await browser.close();
