// What makes the pages quicker. Without it every form still posts.
"use strict";

// The keypad writes into the field it stands under.
for (const pad of document.querySelectorAll("[data-keypad]")) {
  const field = pad.closest("form").querySelector("[data-keyed]");
  if (!field) continue;
  pad.hidden = false;
  if (matchMedia("(pointer: coarse)").matches) field.inputMode = "none"; // the keypad is larger than the phone's own
  pad.addEventListener("click", (e) => {
    const key = e.target.dataset.key;
    if (!key) return;
    if (key === "⌫") field.value = field.value.slice(0, -1);
    else if (key === ">" || key === "−") field.value = field.value.startsWith(key) ? field.value.slice(1).trim() : key + field.value;
    else if (key !== "." || !field.value.includes(".")) field.value += key;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
}

// A name of this job, picked instead of typed.
for (const pick of document.querySelectorAll("[data-pick]")) {
  pick.addEventListener("change", () => { pick.form.elements.value.value = pick.value; });
}

// The button of a long form comes along once there is something to enter.
for (const form of document.querySelectorAll("form.wide")) {
  form.addEventListener("input", () => form.classList.add("changed"));
}

// What a reading says, the moment it is keyed; a breath later, why.
for (const form of document.querySelectorAll("form[data-judge]")) {
  const shown = form.querySelector("#judged"), explained = document.querySelector("#explained");
  let asked = 0, later;
  const ask = async (why) => {
    const mine = ++asked;
    const q = new URLSearchParams(new FormData(form));
    q.delete("act");
    if (why) q.set("why", "yes");
    try {
      const answer = await fetch(form.dataset.judge + "?" + q);
      if (answer.ok && mine === asked) (why ? explained : shown).innerHTML = await answer.text();
    } catch { return; /* it is judged when it is entered */ }
    if (!why && mine === asked) later = setTimeout(ask, 600, true);
  };
  form.addEventListener("input", () => { clearTimeout(later); explained.replaceChildren(); ask(false); });
}

// A run under way is shown anew while it lasts, and the whole page at its end.
const run = document.querySelector("#run[data-live]");
if (run) setInterval(async () => {
  try {
    const answer = await fetch(location.href);
    if (!answer.ok) return;
    const now = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("#run[data-live]");
    if (!now) location.reload();
    else if (run.dataset.shown !== now.innerHTML) run.innerHTML = run.dataset.shown = now.innerHTML;
  } catch { /* asked again in a moment */ }
}, 2000);

// A form is sent once, however often its button is hit; one that hands out
// files leaves its page standing, and may be sent again.
addEventListener("submit", (e) => {
  if ("again" in e.target.dataset) return;
  if (e.target.dataset.sent) e.preventDefault();
  else if (e.target.method === "post") e.target.dataset.sent = "yes";
});
addEventListener("pageshow", () => { for (const f of document.forms) delete f.dataset.sent; });

// The worker that answers when the server cannot.
if ("serviceWorker" in navigator) {
  const state = document.querySelector("#worker-state");
  navigator.serviceWorker.register("/worker.js").then(async () => {
    const ready = await navigator.serviceWorker.ready;
    if (navigator.storage && navigator.storage.persist) navigator.storage.persist();
    const tell = () => ready.active && ready.active.postMessage("send");
    tell();
    addEventListener("online", tell);
    document.addEventListener("visibilitychange", () => { if (!document.hidden) tell(); });
    if (state) state.textContent = "This browser is ready: jobs opened on it can be worked on without signal.";
  }).catch(() => { if (state) state.textContent = "This browser will not keep pages here: it needs https, or this same computer."; });
}
