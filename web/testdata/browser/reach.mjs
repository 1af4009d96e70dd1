// What can be touched lies under nothing, at every size: on a small phone, on
// its side, and with all of it twice as large.
import { browser, check, equal, folder, phone, Server, test } from "./bench.mjs";

const sizes = [["360 × 640", 360, 640], ["640 × 360", 640, 360], ["360 × 640 twice as large", 180, 320]];

// covered is what cannot be touched though the page is scrolled to it.
const covered = (page) => page.evaluate(() => {
  const out = [];
  for (const e of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")) {
    const inside = e.closest("label") ?? e;
    if (!inside.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true }) || e.closest(".skip") || e.disabled) continue;
    inside.scrollIntoView({ block: "nearest", inline: "nearest" });
    const b = inside.getBoundingClientRect();
    if (b.width < 3 || b.height < 3) continue;
    const top = document.elementFromPoint(b.left + b.width / 2, b.top + Math.min(b.height / 2, innerHeight / 2));
    if (!top || !(inside.contains(top) || top.contains(inside) && !top.matches("nav, header"))) out.push(`${e.outerHTML.slice(0, 100)} under ${top?.outerHTML.slice(0, 60)}`);
  }
  return out;
});

test("nothing to touch lies under a bar, on a small phone, on its side and at 200 %", async (note) => {
  const server = await Server.start("--demo");
  const job = await server.job("Terraced");
  const pages = [`/jobs/${job}`, `/jobs/${job}/readings`, `/jobs/${job}/reading?at=CP1&reading=R1%2BR2`, `/jobs/${job}/reading?at=CP1&reading=polarity`, `/jobs/${job}/sheet?of=street`,
    `/jobs/${job}/sheet?of=points/CP1`, `/jobs/${job}/papers`, `/jobs/${job}/inspections`, `/jobs/${job}/next`, `/jobs/${job}/fact?path=supply/Ze`, `/jobs/${job}/parts`, "/"];
  let looked = 0;
  for (const [name, width, height] of sizes) {
    const context = await browser(folder(), { ...phone, viewport: { width, height }, serviceWorkers: "block" });
    const page = await context.newPage();
    for (const path of pages) {
      await page.goto(server.base + path);
      equal(await covered(page), [], `covered on ${path} at ${name}`);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      check(wide <= 0, `${path} is ${wide} px wider than ${name}`);
      looked++;
    }
    await context.close();
  }
  note(`${looked} pages`);
  await server.kill();
});

test("a house stands on one screen of 360 × 740, a reading with all its keys on one of 360 × 640 and of 640 × 360", async () => {
  const server = await Server.start("--demo");
  const job = await server.job("Terraced");
  const open = async (width, height, path) => {
    const context = await browser(folder(), { ...phone, viewport: { width, height }, serviceWorkers: "block" });
    const page = await context.newPage();
    await page.goto(server.base + path);
    return { context, page };
  };
  const house = await open(360, 740, `/jobs/${job}`);
  const parts = await house.page.evaluate(() => [document.documentElement, ...document.querySelectorAll("main, .rail")].map((e) => e.scrollHeight - e.clientHeight));
  equal(parts, [0, 0, 0], "what has to be scrolled for: the page, what to do now, the line");
  const small = await house.page.locator(".st a").evaluateAll((all) => all.filter((a) => a.getBoundingClientRect().height < 47.5).length);
  equal(small, 0, "stations of less than 48 px");
  await house.context.close();
  for (const [width, height] of [[360, 640], [640, 360]]) for (const reading of ["R1+R2", "insulation live to earth", "Zs", "RCD time at IΔn", "6 mA d.c.", "polarity"]) {
    const { context, page } = await open(width, height, `/jobs/${job}/reading?at=CP1&reading=${encodeURIComponent(reading)}`);
    for (const k of await page.locator("[data-key]").count() ? "45" : "") await page.locator(`[data-key="${k}"]`).tap();
    await page.waitForTimeout(900); // a breath later, why
    await page.evaluate(() => { scrollTo(0, 0); document.querySelector("main").scrollTop = 0; });
    const hidden = await page.locator(".pad button, .fig input, .word").evaluateAll((all) => all.filter((e) => {
      const b = e.getBoundingClientRect(), top = document.elementFromPoint(b.left + b.width / 2, b.top + b.height / 2);
      return b.bottom > innerHeight + 1 || b.top < 0 || !top || !(e.contains(top) || top.contains(e));
    }).map((e) => e.textContent.trim() || e.id));
    equal(hidden, [], `not all to be seen of ${reading} at ${width} × ${height}`);
    await context.close();
  }
  await server.kill();
});

test("a screen reader hears the state before the line, and the reading before its keys", async () => {
  const server = await Server.start("--demo");
  const job = await server.job("Terraced");
  const context = await browser(folder(), { ...phone, serviceWorkers: "block" });
  const page = await context.newPage();
  const inOrder = async (path, ...wanted) => {
    await page.goto(server.base + path);
    const heard = await page.locator("body").ariaSnapshot();
    let from = 0;
    for (const w of wanted) {
      const at = heard.slice(from).search(w);
      check(at >= 0, `${path}: ${w} is not heard after ${JSON.stringify(heard.slice(Math.max(0, from - 80), from))}`);
      from += at + 1;
    }
  };
  await inOrder(`/jobs/${job}`, /link "Terraced house/, /heading "\d+ [a-z ]+" \[level=1\]/, /(button|link) "/, /region "The line/, /Supply, TN-C-S/, /Cut-out/, /Earth and bonding/, /RCBO/, /Cable/, /Point CP1/,
    /navigation "This job"/, /link "Survey"/, /link "Test 0/, /link "Papers"/);
  await inOrder(`/jobs/${job}/reading?at=CP1&reading=R1%2BR2`, /heading "R1\+R2 at CP1" \[level=1\]/, /Dead\./, /textbox "Shown"/, /expected 0\.0/, /button "1"/, /button "delete"/, /button "Enter"/);
  await context.close();
  await server.kill();
});
