// The device's own lock before pages without the server: a passkey that stays on
// this device, held against by the part of the program that runs on it. Where a
// browser has none, the forms stay hidden.
"use strict";

const text = (bytes) => btoa(String.fromCharCode(...new Uint8Array(bytes))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
const bytes = (base64url) => Uint8Array.from(atob(base64url.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));

async function told(address, body) {
  const answer = await fetch(address, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body ?? {}) });
  const said = await answer.json().catch(() => ({ detail: "This browser is not ready for work without signal yet. Load the page again." }));
  if (!answer.ok) throw new Error(said.detail);
  return said;
}

// shown asks the person to show that it is them, and returns what the device signed.
async function shown(id) {
  const { challenge } = await told("/device/lock/ask");
  const { response } = await navigator.credentials.get({ publicKey: { challenge: bytes(challenge), userVerification: "required", allowCredentials: [{ type: "public-key", id: bytes(id), transports: ["internal"] }] } });
  return { Data: text(response.clientDataJSON), Authenticator: text(response.authenticatorData), Signature: text(response.signature) };
}

const does = {
  async set() {
    const { response, rawId } = await navigator.credentials.create({ publicKey: {
      rp: { name: "Chargewright" }, user: { id: crypto.getRandomValues(new Uint8Array(16)), name: "this device", displayName: "this device" },
      challenge: crypto.getRandomValues(new Uint8Array(32)), pubKeyCredParams: [-7, -8, -257].map((alg) => ({ type: "public-key", alg })),
      authenticatorSelection: { authenticatorAttachment: "platform", userVerification: "required", residentKey: "discouraged" } } });
    const id = text(rawId);
    return told("/device/lock/set", { ID: id, Key: text(response.getPublicKey()), ...(await shown(id)) });
  },
  async open() { return told("/device/lock/open", await shown((await told("/device/lock/ask")).id)); },
  async off() { return told("/device/lock/off", await shown((await told("/device/lock/ask")).id)); },
};

const forms = document.querySelectorAll("form[data-lock]");
for (const form of forms) {
  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    const says = form.querySelector("[role=alert]"), button = form.querySelector("button");
    says.textContent = "";
    button.disabled = true;
    try {
      await does[form.dataset.lock]();
      const again = document.querySelector("form:not([data-lock])[method=post]"); // what was typed is sent again
      if (form.dataset.lock === "open" && again) return again.requestSubmit();
      location.reload();
    } catch (why) { says.textContent = why.name === "NotAllowedError" ? "It was not done: it was stopped, or took too long." : why.message; }
    button.disabled = false;
  });
}

const section = document.querySelector("[data-device-lock]");
(async () => {
  if (!section || !navigator.serviceWorker?.controller || !(await window.PublicKeyCredential?.isUserVerifyingPlatformAuthenticatorAvailable?.())) return;
  const { locked } = await told("/device/lock/ask");
  for (const form of forms) form.hidden = (form.dataset.lock === "set") === locked;
  section.hidden = false;
})().catch(() => { /* it stays as it is */ });
