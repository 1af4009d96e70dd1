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

// The worker that answers when the server cannot. What waits to be sent, and
// that it was sent, is said on the page as it happens.
if ("serviceWorker" in navigator) {
  const kept = document.querySelector("#worker-state"), state = document.querySelector("#state");
  const say = (where, text, link, words) => {
    if (!where || where.dataset.said === text) return;
    where.dataset.said = text;
    where.replaceChildren(Object.assign(document.createElement("span"), { textContent: text }));
    if (link) where.append(" ", Object.assign(document.createElement("a"), { href: link, textContent: words }));
  };
  const troubles = {
    room: "This device has no room left for working without signal. Free some, then load the page again.",
    kept: "What is needed without signal did not come through whole. Load the page again where the signal is good.",
    program: "This browser cannot work without signal: it may be set to keep nothing, as in a private window.",
  };

  // How many waited when last heard of, on this page or the one before it.
  let away = "away" in state.dataset, waited = Number(state.dataset.waiting ?? sessionStorage.getItem("waited"));
  const heard = (is) => {
    const left = is.waiting === 1 ? "1 entry waits on this device" : `${is.waiting} entries wait on this device`;
    if (is.trouble) return [troubles[is.trouble]];
    if (is.waiting && !is.reached) return away && is.waiting === waited ? null : [`Without the server. ${left} to be sent.`, "/away", "More"];
    if (is.waiting && is.status === 401) return [`${left}. Sign in, and what waits is sent.`, "/sign-in", "Sign in"];
    if (is.waiting) return [`${left}: the server was reached and did not take all of it. It stays here.`, "/away", "More"];
    if (is.reached && waited) return ["All that waited has been sent.", location.href, "Show this page anew"];
    return is.reached && away ? ["The server is back.", location.href, "Show this page anew"] : null;
  };

  // Asked soon and then less and less often while there is something to learn.
  const SOON = 2000, LATE = 30000;
  let gap = SOON, next;
  const ask = (what) => navigator.serviceWorker.ready.then((r) => r.active.postMessage(what));
  const now = () => { gap = SOON; ask("send now"); };
  navigator.serviceWorker.addEventListener("message", ({ data: is }) => {
    if (is.waiting === undefined) return say(kept, troubles[is.trouble]);
    const says = heard(is);
    if (says) say(state, ...says);
    if (is.reached) away = false;
    waited = is.waiting;
    if (waited) sessionStorage.setItem("waited", waited);
    else setTimeout(() => sessionStorage.removeItem("waited"), 3000); // a page that is left sooner was not read: the next says it again
    clearTimeout(next);
    if (waited || away) next = setTimeout(() => { if (!document.hidden) ask("send"); gap = Math.min(2 * gap, LATE); }, gap);
  });
  const register = (again) => navigator.serviceWorker.register("/worker.js", { updateViaCache: "none" }).then((r) => {
    const is = () => say(kept, "This browser is ready: jobs opened on it can be worked on without signal.");
    if (r.active) return is();
    r.installing?.addEventListener("statechange", ({ target: { state } }) => {
      if (state === "activated") is();
      if (state === "redundant" && !r.active) setTimeout(() => register(Math.min(2 * again, 60000)).catch(() => { /* with the next page */ }), again); // it did not come through whole
    });
  });
  register(5000).then(() => {
    navigator.storage?.persist?.();
    ask("send");
    addEventListener("online", now);
    document.addEventListener("visibilitychange", () => { if (!document.hidden) now(); });
  }).catch(() => say(kept, "This browser will not keep pages here: it needs https, or this same computer, and no private window."));
}
