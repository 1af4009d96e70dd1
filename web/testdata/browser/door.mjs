// The door, installing, and the worker's life, in a real browser.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Server, account, browser, check, equal, folder, phone, ready, sound, test, until } from "./bench.mjs";


const password = "correct horse battery";
async function signIn(page, base, name) {
  await page.goto(base + "/sign-in");
  await page.getByLabel("Name").fill(name);
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Sign in", exact: true }).tap();
  await page.getByRole("heading", { name: "New job" }).waitFor();
}

// The device is Chromium's own authenticator, another maker's than the server's library.
test("a passkey added, used to sign in, and taken away", async () => {
  const data = join(folder(), "journal.sqlite");
  account(data, "Sue", "supervisor", password);
  const server = await Server.start("--data", data);
  const base = `http://localhost:${server.port}`;
  const context = await browser(folder(), { ...phone, bypassCSP: true });
  const page = await context.newPage();
  const cdp = await context.newCDPSession(page);
  await cdp.send("WebAuthn.enable");
  const device = { protocol: "ctap2", transport: "internal", hasResidentKey: true, hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true };
  const { authenticatorId } = await cdp.send("WebAuthn.addVirtualAuthenticator", { options: device });

  await signIn(page, base, "Sue");
  await page.goto(base + "/me");
  await page.getByText("You have none.").waitFor();
  const add = async (name) => {
    await page.getByLabel("What you call it").fill(name);
    await page.getByLabel("Your password").fill(password);
    await page.getByRole("button", { name: "Add a passkey" }).tap();
  };
  await add("my phone");
  await page.getByText("not used yet").waitFor();
  await sound(page, "the account");
  await add("my phone again");
  await page.getByRole("alert").filter({ hasText: "has a passkey of yours already" }).waitFor();

  await page.getByRole("button", { name: "Sign out" }).tap();
  await page.getByRole("heading", { name: "Or without a password" }).waitFor();
  await sound(page, "the sign-in");
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("heading", { name: "New job" }).waitFor();
  await page.goto(base + "/me");
  await page.getByText("by passkey my phone").waitFor();
  await page.getByText("last used").waitFor();
  await page.goto(base + "/audit");
  for (const line of ["passkey added: my phone", "signed in by passkey my phone", "signed in by password"]) check(await page.getByRole("cell", { name: line, exact: true }).first().isVisible(), `the audit list lacks ${line}`);

  // A person who is not verified, by finger, face or PIN, is not let in.
  await page.goto(base + "/me");
  await page.getByRole("button", { name: "Sign out" }).tap();
  await cdp.send("WebAuthn.setUserVerified", { authenticatorId, isUserVerified: false });
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("alert").filter({ hasText: "It was not done" }).waitFor();
  await cdp.send("WebAuthn.setUserVerified", { authenticatorId, isUserVerified: true });

  // A copy whose counter stands behind is refused.
  const { credentials: [held] } = await cdp.send("WebAuthn.getCredentials", { authenticatorId });
  await cdp.send("WebAuthn.removeCredential", { authenticatorId, credentialId: held.credentialId });
  await cdp.send("WebAuthn.addCredential", { authenticatorId, credential: { ...held, signCount: 0 } });
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("alert").filter({ hasText: "lets nobody in" }).waitFor();
  await cdp.send("WebAuthn.removeCredential", { authenticatorId, credentialId: held.credentialId });
  await cdp.send("WebAuthn.addCredential", { authenticatorId, credential: { ...held, signCount: 50 } });
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("heading", { name: "New job" }).waitFor();

  // Taken away, it lets nobody in, and the password still does.
  await page.goto(base + "/me");
  await page.getByRole("button", { name: "Take away the passkey my phone" }).tap();
  await page.getByText("You have none.").waitFor();
  await page.getByRole("button", { name: "Sign out" }).tap();
  await page.getByRole("button", { name: "Sign in by passkey" }).tap();
  await page.getByRole("alert").filter({ hasText: "lets nobody in" }).waitFor();
  await signIn(page, base, "Sue");

  // By number instead of by name no passkey is offered, and the page says why.
  await page.goto(server.base + "/sign-in");
  check(!(await page.getByRole("button", { name: "Sign in by passkey" }).isVisible()), "a passkey is offered at a number");
  await signIn(page, server.base, "Sue");
  await page.goto(server.base + "/me");
  await page.getByText("A passkey belongs to a name.").waitFor();
  await context.close();
  await server.kill();
});

test("another session is seen and ended, without script", async () => {
  const data = join(folder(), "journal.sqlite");
  account(data, "Ann", "electrician", password);
  const server = await Server.start("--data", data);
  const here = await browser(folder(), { ...phone, javaScriptEnabled: false }), there = await browser(folder());
  const mine = await here.newPage(), lost = await there.newPage();
  await signIn(mine, server.base, "Ann");
  await signIn(lost, server.base, "Ann");
  await mine.goto(server.base + "/me");
  await mine.getByRole("button", { name: "End the session" }).tap();
  await until(async () => (await mine.getByRole("button", { name: "End the session" }).count()) === 0, "the other session is gone");
  await lost.goto(server.base + "/me");
  await lost.getByLabel("Password").waitFor();
  await mine.reload();
  await mine.getByText("You are signed in as").waitFor();
  await here.close();
  await there.close();
  await server.kill();
});

test("the browser would install the pages", async () => {
  const server = await Server.start("--demo");
  const context = await browser(folder());
  const page = await context.newPage();
  await page.goto(server.base);
  await ready(page);
  const cdp = await context.newCDPSession(page);
  const { errors, data } = await cdp.send("Page.getAppManifest");
  equal(errors, [], "errors in the manifest");
  equal(JSON.parse(data).icons.length, 4, "icons");
  const { installabilityErrors } = await cdp.send("Page.getInstallabilityErrors");
  equal(installabilityErrors.map((e) => e.errorId), [], "what keeps it from being installed");
  await page.goto(server.base + "/api/v1/me"); // which has no manifest, and cannot be
  check((await cdp.send("Page.getInstallabilityErrors")).installabilityErrors.length > 0, "the browser would install anything");
  await context.close();
  await server.kill();
});
