// Passkeys: made on a person's own page, shown at the sign-in. Where a browser
// cannot, the forms stay hidden and the password serves.
"use strict";

const able = "PublicKeyCredential" in window && PublicKeyCredential.parseCreationOptionsFromJSON && PublicKeyCredential.parseRequestOptionsFromJSON;

async function sent(address, body, type) {
  let answer;
  try { answer = await fetch(address, { method: "POST", headers: { "Content-Type": type }, body }); } catch { throw new Error("The server cannot be reached. Try again when it can."); }
  const said = await answer.json().catch(() => ({ detail: "The server answers what cannot be read. Try again." }));
  if (!answer.ok) throw new Error(said.detail);
  return said;
}

const inWords = {
  NotAllowedError: "It was not done: it was stopped, or took too long.",
  InvalidStateError: "This device has a passkey of yours already.",
  SecurityError: "The browser makes no passkeys at this address.",
};

for (const form of document.querySelectorAll("form[data-passkey]")) {
  const says = form.querySelector("[role=alert]"), button = form.querySelector("button");
  form.hidden = !able;
  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    says.textContent = "";
    button.disabled = true;
    try {
      const asked = await sent(form.action + "/begin", new URLSearchParams(new FormData(form)), "application/x-www-form-urlencoded");
      const credential = form.dataset.passkey === "make"
        ? await navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(asked) })
        : await navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(asked) });
      location.assign((await sent(form.action, JSON.stringify(credential), "application/json")).next);
    } catch (why) { says.textContent = inWords[why.name] ?? why.message; }
    button.disabled = false;
  });
}
for (const note of document.querySelectorAll("[data-no-passkey]")) note.hidden = able;
