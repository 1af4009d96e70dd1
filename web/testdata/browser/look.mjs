// Takes pictures of the main pages, to be looked at: node look.mjs ADDRESS FOLDER
import { chromium } from "playwright-core";
const [base, folder] = process.argv.slice(2);
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"] });
const sizes = [["phone", 360, 740, "light"], ["phone-dark", 360, 740, "dark"], ["desk", 1280, 900, "light"], ["desk-dark", 1280, 900, "dark"]];
const only = process.argv[4];
for (const [name, width, height, colorScheme] of sizes) {
  if (only && name !== only) continue;
  const context = await browser.newContext({ viewport: { width, height }, colorScheme, hasTouch: width < 600, isMobile: width < 600, deviceScaleFactor: width < 600 ? 2 : 1, serviceWorkers: "block" });
  const page = await context.newPage();
  await page.goto(base);
  const href = await page.locator("a.row", { hasText: "Bakery" }).getAttribute("href");
  const shots = [["jobs", "/"], ["line", href], ["cut-out", href + "/sheet?of=cut-out"], ["fact", href + "/fact?path=supply/Ze"], ["next", href + "/next"], ["readings", href + "/readings"], ["reading", href + "/reading?at=CP1&reading=Zs"], ["papers", href + "/papers"], ["circuit", href + "/sheet?of=circuits/van point"], ["parts", href + "/parts"], ["history", href + "/history"]];
  for (const [shot, path] of shots) {
    await page.goto(base + path.replace(/^https?:\/\/[^/]*/, ""));
    if (shot === "reading") { for (const k of "1.4") await page.locator(`[data-key="${k}"]`).click(); await page.waitForTimeout(1500); }
    await page.screenshot({ path: `${folder}/${name}-${shot}.png`, fullPage: shot !== "line" || width < 600 });
  }
  await context.close();
}
await browser.close();
