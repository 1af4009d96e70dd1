// Photos by touch, on paper, taken along, and there without the server.
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { Server, browser, check, equal, folder, kept, phone, ready, sleep, sound, test, until } from "./bench.mjs";

const photos = join(process.env.EXAMPLES, "../paper/testdata/photos");
const cutOut = readFileSync(join(photos, "cut-out.jpg"));

async function bakery(server) {
  return (await server.json("/api/v1/jobs", { method: "POST", headers: { "Content-Type": "application/yaml" }, body: readFileSync(process.env.EXAMPLES + "/bakery/job.yaml") })).job;
}

// photoBy adds a photo as another device does.
async function photoBy(server, job, of, file, caption) {
  const form = new FormData();
  for (const [name, value] of Object.entries({ of, caption, act: crypto.randomUUID() })) form.set(name, value);
  form.set("photo", new Blob([file], { type: "image/jpeg" }), "IMG.jpg");
  const answer = await fetch(`${server.base}/jobs/${job}/photo`, { method: "POST", body: form, redirect: "manual" });
  equal(answer.status, 303, "a photo from another device");
}

const shown = (page) => page.locator(".photo img").first().evaluate(async (img) => { img.loading = "eager"; await img.decode(); return [img.naturalWidth, img.naturalHeight]; });

test("a photo by touch: captioned, put on the papers, taken off and out, the job taken along with it", async (note) => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const job = await bakery(server);
  const context = await browser(folder(), { ...phone, bypassCSP: true, serviceWorkers: "block" });
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}/sheet?of=cut-out`);
  await page.getByText("Add a photo").tap();
  await page.locator("#photo").setInputFiles(join(photos, "cut-out.jpg"));
  await page.getByLabel("What is to be seen on it").fill("seal of the fuse carrier");
  await page.getByRole("button", { name: "Keep the photo" }).tap();
  await page.locator(".notice", { hasText: "photo of cut-out" }).waitFor();
  equal(await shown(page), [480, 640], "the photo on a page, small and upright");
  equal(await page.locator(".photo a").first().evaluate(async (a) => { const img = new Image(); img.src = a.href; await img.decode(); return [img.naturalWidth, img.naturalHeight]; }), [1050, 1400], "the photo itself, upright as Chromium turns it by its EXIF");
  equal(await page.locator(".photo img").getAttribute("alt"), "seal of the fuse carrier", "what is said of the photo to someone who does not see it");
  await page.locator(".choice-now", { hasText: "On no paper" }).waitFor();
  await page.getByRole("button", { name: "Put on the papers" }).tap();
  await page.locator(".choice-now", { hasText: "On the photo sheet" }).waitFor();
  await page.getByText("Caption, or take it out").tap();
  await sound(page, "the sheet with a photo");
  await page.locator(".photo").getByLabel("What is to be seen on it").fill("fuse carrier, seal whole");
  await page.getByRole("button", { name: "Keep", exact: true }).tap();
  await page.locator(".photo b", { hasText: "fuse carrier, seal whole" }).waitFor();
  await page.getByText("Caption, or take it out").tap();
  await page.getByRole("link", { name: /All that is known/ }).tap();
  await page.getByRole("heading", { name: "The photo", exact: true }).waitFor();
  await sound(page, "the sheet of a photo");
  await page.getByRole("navigation").getByRole("link", { name: "Papers" }).tap();
  await page.getByRole("link", { name: "Photos: 1 of 1 on the papers" }).tap();
  await page.getByRole("heading", { name: "Photos", level: 1 }).waitFor();
  await sound(page, "the page of photos");
  const sheet = await fetch(server.base + await page.getByRole("link", { name: "Photo sheet" }).getAttribute("href"));
  const paper = Buffer.from(await sheet.arrayBuffer());
  check(sheet.ok && paper.includes("/DCTDecode") && !paper.includes("Invented Camera"), "the photo sheet has no photo, or says what camera took it");
  note(`a sheet of one photo has ${Math.round(paper.length / 1024)} KiB`);

  const handed = page.waitForEvent("download");
  await page.getByRole("link", { name: "Job file with its photos" }).tap();
  const zip = join(folder(), (await handed).suggestedFilename());
  await (await handed).saveAs(zip);
  await page.goto(server.base);
  await page.getByText("Bring in a job file").tap();
  await page.locator("#file").setInputFiles(zip);
  await page.getByRole("button", { name: "Bring it in" }).tap();
  await until(() => /\/jobs\/[0-9a-f-]+$/.test(page.url()) && !page.url().endsWith(job), "the job is brought in");
  const other = page.url().split("/").pop();
  await page.goto(`${server.base}/jobs/${other}/sheet?of=cut-out`);
  await page.locator(".choice-now", { hasText: "On the photo sheet" }).waitFor();
  equal(await shown(page), [480, 640], "the photo brought in");
  const { photos: [kept] } = await server.json(`/api/v1/jobs/${other}/photos`);
  const back = Buffer.from(await (await fetch(`${server.base}/api/v1/jobs/${other}/photos/${kept.name}`)).arrayBuffer());
  check(back.equals(cutOut), "the photo brought in differs from the one taken");
  writeFileSync(zip, "PK\x03\x04 and nothing else");
  await page.goto(server.base);
  await page.getByText("Bring in a job file").tap();
  await page.locator("#file").setInputFiles(zip);
  await page.getByRole("button", { name: "Bring it in" }).tap();
  await page.getByText("The ZIP cannot be read").waitFor();

  await page.goto(`${server.base}/jobs/${job}/photos`);
  await page.getByRole("button", { name: /^Take off the papers/ }).tap();
  await page.getByText("0 of 1 on the papers").waitFor();
  await page.getByText("Caption, or take it out").tap();
  await page.getByRole("button", { name: /^Take it out/ }).tap();
  await page.getByText("No photo yet.").waitFor();
  await page.getByRole("button", { name: "Take it back" }).tap();
  await page.locator(".notice", { hasText: "taken back" }).waitFor();
  await page.goto(`${server.base}/jobs/${job}/photos`);
  await page.locator(".photo b", { hasText: "fuse carrier, seal whole" }).waitFor();
  await context.close();
  await server.kill();
});

test("a photo without script: kept, put on the papers and captioned by plain forms", async () => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const job = await bakery(server);
  const context = await browser(folder(), { ...phone, javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}/sheet?of=points/CP1`);
  await page.getByText("Add a photo").tap();
  await page.locator("#photo").setInputFiles(join(photos, "point.jpg"));
  await page.getByRole("button", { name: "Keep the photo" }).tap();
  await page.getByRole("button", { name: "Put on the papers" }).tap();
  await page.locator(".choice-now", { hasText: "On the photo sheet" }).waitFor();
  await page.getByText("Caption, or take it out").tap();
  await page.locator(".photo").getByLabel("What is to be seen on it").fill("cable from below");
  await page.getByRole("button", { name: "Keep", exact: true }).tap();
  await page.locator(".photo b", { hasText: "cable from below" }).waitFor();
  const { photos: [one] } = await server.json(`/api/v1/jobs/${job}/photos`);
  equal([one.of, one.caption, one.onPapers], ["point CP1", "cable from below", true], "the photo");
  await context.close();
  await server.kill();
});

// photosOn is the photos that the browser has, each with its size.
const photosOn = async (page) => (await kept(page, "photos")).map((p) => [p.act, p.bytes]);

test("photos that others took are there when the server is killed, and print; one taken then is sent later", async (note) => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const job = await bakery(server);
  await photoBy(server, job, "cut-out", cutOut, "seal whole");
  await photoBy(server, job, "points/CP1", readFileSync(join(photos, "point.jpg")), "point as found");
  const profile = folder();
  let context = await browser(profile);
  let page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}`);
  await ready(page);
  await page.goto(`${server.base}/jobs/${job}`);
  const from = Date.now();
  await until(async () => (await photosOn(page)).length === 2, "two photos are on the device", 20000);
  note(`both photos on the device after ${Date.now() - from} ms`);
  await context.close();
  await server.kill();
  context = await browser(profile);
  page = await context.newPage();
  await page.goto(`${server.base}/jobs/${job}/sheet?of=cut-out`);
  await page.getByText("Without the server.").waitFor();
  equal(await shown(page), [1050, 1400], "the photo without the server");
  await page.getByRole("button", { name: "Put on the papers" }).tap();
  await page.locator(".choice-now", { hasText: "On the photo sheet" }).waitFor();
  const paper = await page.evaluate(async (job) => {
    const answer = await fetch(`/jobs/${job}/papers/photo-sheet.pdf`);
    const text = new TextDecoder("latin1").decode(await answer.arrayBuffer());
    return [answer.status, text.slice(0, 5), text.includes("/DCTDecode")];
  }, job);
  equal(paper, [200, "%PDF-", true], "the photo sheet without the server");
  await page.goto(`${server.base}/jobs/${job}/sheet?of=meter`);
  await page.getByText("Add a photo").tap();
  await page.locator("#photo").setInputFiles(join(photos, "board.jpg"));
  await page.getByRole("button", { name: "Keep the photo" }).tap();
  equal(await shown(page), [1600, 1200], "the photo taken without the server");
  equal((await photosOn(page)).length, 3, "photos on the device");
  await server.start();
  let now = [];
  await until(async () => {
    await page.goto(`${server.base}/jobs/${job}/photos`);
    now = (await server.json(`/api/v1/jobs/${job}/photos`)).photos;
    return now.length === 3;
  }, "the third photo is on the server", 20000);
  equal(now.map((p) => [p.of, p.onPapers]), [["cut-out", true], ["point CP1", false], ["meter and tails", false]], "photos on the server");
  const sent = Buffer.from(await (await fetch(`${server.base}/api/v1/jobs/${job}/photos/${now[2].name}`)).arrayBuffer());
  check(sent.equals(readFileSync(join(photos, "board.jpg"))), "the photo sent differs from the one taken");
  await context.close();
  await server.kill();
});

test("a browser that kept photos beside their acts keeps them apart from now on, and sends what waited", async () => {
  const server = await Server.start("--data", join(folder(), "journal.sqlite"));
  const job = await bakery(server);
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(`${server.base}/assets/page.css`); // no script of the pages runs here
  await page.evaluate(([job, bytes]) => new Promise((is, no) => {
    const r = indexedDB.open("chargewright", 1);
    r.onerror = () => no(r.error);
    r.onupgradeneeded = () => {
      r.result.createObjectStore("acts", { keyPath: "id" }).createIndex("job", "job");
      r.result.createObjectStore("words");
    };
    r.onsuccess = () => {
      const t = r.result.transaction("acts", "readwrite"), acts = t.objectStore("acts");
      const act = { id: "old-photo", job, what: "photo of cut-out", when: "2026-11-25T09:00:00Z", photo: { element: "cut-out", type: "image/jpeg" } };
      acts.put({ id: "old-photo", job, place: 1e15, waiting: true, act: JSON.stringify(act), photo: Uint8Array.from(atob(bytes), (c) => c.charCodeAt(0)) });
      t.oncomplete = () => { r.result.close(); is(); };
    };
  }), [job, cutOut.toString("base64")]);
  await page.goto(`${server.base}/jobs/${job}`);
  await ready(page);
  await page.goto(`${server.base}/jobs/${job}`);
  await until(async () => (await server.json(`/api/v1/jobs/${job}/photos`)).photos.length === 1, "the old photo is on the server", 20000);
  equal(await photosOn(page), [["old-photo", cutOut.length]], "photos apart");
  const left = (await kept(page, "acts")).filter((a) => a.photo).length;
  equal(left, 0, "acts with a photo in them");
  await sleep(500);
  await server.kill();
  await page.goto(`${server.base}/jobs/${job}/sheet?of=cut-out`);
  await page.getByText("Without the server.").waitFor();
  equal(await shown(page), [1050, 1400], "the old photo without the server");
  await context.close();
});
