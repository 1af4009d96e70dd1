// What makes the pages quicker. Without it every form still posts.
"use strict";

const script = document.currentScript;
document.documentElement.classList.add("script");

// What belongs to the pages is found anew at each touch, so that a page whose
// middle was exchanged works like one that was loaded.
const typed = (field) => field.dispatchEvent(new Event("input", { bubbles: true }));
// Of several fields the pad writes into the one touched last, or the first that is empty.
let touched;
document.addEventListener("focusin", (e) => { if ("keyed" in e.target.dataset) mark(e.target); });
const mark = (field) => {
  touched = field;
  for (const row of document.querySelectorAll("[data-rows] li")) row.classList.toggle("now", row.contains(field));
};
const empty = (form) => [...form.querySelectorAll("[data-keyed]")].find((f) => !f.value);
const within = (form) => (form.contains(touched) ? touched : empty(form) ?? form.querySelector("[data-keyed]"));

// The keypad writes into the field of its form.
const dress = () => {
  for (const pad of document.querySelectorAll("[data-keypad]")) {
    pad.hidden = false;
    const form = pad.closest("form"), field = within(form);
    if (!field) continue;
    mark(field);
    if (matchMedia("(pointer: coarse)").matches) for (const one of form.querySelectorAll("[data-keyed]")) one.inputMode = "none"; // the keypad is larger than the phone's own
    else if (pad.classList.contains("pad")) field.focus();
  }
};
dress();
document.addEventListener("click", (e) => {
  const button = e.target.closest("button");
  if (!button) return;
  const { key } = button.dataset, form = button.form;
  if (key) {
    const field = within(form);
    if (key === "⌫") field.value = field.value.slice(0, -1);
    else if (key === ">" || key === "−") field.value = field.value.startsWith(key) ? field.value.slice(1).trim() : key + field.value;
    else if (key !== "." || !field.value.includes(".")) field.value += key;
    typed(field);
  }
  if ("unit" in button.dataset) { // the next unit, and round
    const units = [...form.querySelectorAll("[name=unit]")], at = units.findIndex((u) => u.checked);
    const now = units[(at + 1) % units.length];
    now.checked = true;
    for (const shown of [button.querySelector("span"), form.querySelector("[data-shown-unit]")]) if (shown) shown.textContent = now.value;
    typed(now);
  }
});

// What is likely is one tap away; of several words each tap adds one or takes it out.
document.addEventListener("click", (e) => {
  const tapped = e.target.closest("[data-ready]");
  if (!tapped) return;
  const field = tapped.dataset.into ? document.getElementById(tapped.dataset.into) : tapped.parentElement.parentElement.querySelector("input[name]:not([type=hidden]):not([type=radio])");
  const { ready } = tapped.dataset, words = field.value.split(",").map((w) => w.trim()).filter(Boolean);
  if (!("several" in field.dataset)) field.value = field.value === ready ? "" : ready;
  else field.value = (words.includes(ready) ? words.filter((w) => w !== ready) : [...words, ready]).join(", ");
  for (const one of tapped.parentElement.children) one.ariaPressed = "several" in field.dataset ? field.value.split(", ").includes(one.dataset.ready) : field.value === one.dataset.ready;
  typed(field);
});

// A name of this job, picked instead of typed.
for (const pick of document.querySelectorAll("[data-pick]")) {
  pick.addEventListener("change", () => { pick.form.elements.value.value = pick.value; });
}

// A photo is kept as it is taken.
document.addEventListener("change", (e) => { if ("shoot" in e.target.dataset && e.target.files.length) e.target.form.requestSubmit(); });

// What is said of all the rest at once is said after each was shown.
const watch = () => document.querySelectorAll("form[data-shown]").forEach((form) => {
  const rest = form.querySelector("[data-rest]"), left = new Set(form.querySelectorAll(".item"));
  if (!rest) return;
  rest.disabled = true;
  const seen = new IntersectionObserver((all) => {
    for (const one of all) if (one.isIntersecting) { left.delete(one.target); seen.unobserve(one.target); }
    rest.disabled = left.size > 0;
  });
  for (const item of left) seen.observe(item);
});
watch();

// What a reading says, the moment it is keyed; a breath later, why.
let asked = 0, later;
const judge = async (form, why) => {
  const shown = form.querySelector("#judged"), explained = document.querySelector("#explained");
  const mine = ++asked;
  const q = new URLSearchParams(new FormData(form));
  q.delete("act");
  if (why) q.set("why", "yes");
  try {
    const answer = await fetch(form.dataset.judge + "?" + q);
    if (answer.ok && mine === asked) (why ? explained : shown).innerHTML = await answer.text();
  } catch { return; /* it is judged when it is entered */ }
  if (!why && mine === asked) later = setTimeout(judge, 600, form, true);
};
// The same of one row of a round.
const judgeRow = async (form, row) => {
  const value = row.querySelector("[data-keyed]").value, q = new URLSearchParams({ at: row.dataset.at, reading: form.elements.reading.value, unit: form.elements.unit.value, value, row: "yes" });
  try {
    const answer = await fetch(form.dataset.judge + "?" + q);
    if (answer.ok && row.querySelector("[data-keyed]").value === value) row.querySelector("[data-word]").innerHTML = await answer.text();
  } catch { /* it is judged when it is entered */ }
};
document.addEventListener("input", (e) => {
  const form = e.target.form;
  if (e.target.classList.contains("big") && e.target.size < 20) e.target.size = Math.max(2, Math.ceil(e.target.value.length * 0.9));
  if (!form?.dataset.judge) return;
  if ("rows" in form.dataset) {
    const rows = e.target.name === "unit" ? form.querySelectorAll("li") : [e.target.closest("li")];
    for (const row of rows) if (row?.querySelector("[data-keyed]")?.value) judgeRow(form, row);
    return;
  }
  clearTimeout(later);
  document.querySelector("#explained").replaceChildren();
  judge(form, false);
});

// A reading is entered and the next one shown without leaving the screen.
document.addEventListener("submit", async (e) => {
  const form = e.target;
  if (!("soft" in form.dataset) || e.defaultPrevented) return;
  e.preventDefault();
  const left = "rows" in form.dataset && e.submitter?.name !== "only" && within(form)?.value && empty(form);
  if (left) { // Enter goes down the rows, and then sends them
    mark(left);
    left.scrollIntoView({ block: "nearest" });
    if (!matchMedia("(pointer: coarse)").matches) left.focus();
    return;
  }
  const body = new FormData(form);
  if (e.submitter?.name) body.set(e.submitter.name, e.submitter.value);
  clearTimeout(later);
  asked++;
  try {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(body) });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!page.querySelector("main")) throw new Error("no page");
    if (page.body.className !== document.body.className) return location.assign(answer.url);
    document.title = page.title;
    for (const part of ["header.top", "main", ".rail", ".side", ".bar"]) document.querySelector(part)?.replaceWith(document.importNode(page.querySelector(part), true));
    const shown = page.querySelector("header.top")?.dataset.url ?? (answer.redirected ? answer.url : ""); // a worker in between hides where it led
    if (shown) history.replaceState(null, "", shown);
    dress();
    watch();
    document.querySelector("main").scrollTop = 0;
    scrollTo(0, 0);
    if (!document.querySelector("[data-keyed]")) document.querySelector("main").focus();
  } catch { delete form.dataset.soft; form.requestSubmit(e.submitter); }
});

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

// Who signs out leaves nothing on the device. What waits there is sent first;
// what cannot be sent is lost only to who says so.
document.addEventListener("submit", async (e) => {
  const form = e.target, worker = navigator.serviceWorker?.controller;
  if (!("leave" in form.dataset) || form.dataset.leave || !worker) return;
  e.preventDefault();
  const { port1, port2 } = new MessageChannel();
  const left = await new Promise((is) => {
    port1.onmessage = ({ data }) => is(data);
    worker.postMessage("leave", [port2]);
    setTimeout(is, 30000, NaN);
  });
  form.dataset.leave = "asked";
  delete form.dataset.sent;
  if (left === 0) return form.submit();
  const box = document.createElement("p"), what = left ? `${left} ${left === 1 ? "entry waits" : "entries wait"} on this device and could not be sent` : "Whether entries wait on this device is not known";
  box.className = "box wrong";
  box.role = "alert";
  box.textContent = `${what}. Signing out clears the device: they are lost. Stay, and sign out when there is signal; or sign out all the same.`;
  form.before(box);
  form.querySelector("button").textContent = left ? "Sign out and lose them" : "Sign out all the same";
});

// A form is sent once, however often its button is hit; one that hands out
// files leaves its page standing, and may be sent again.
addEventListener("submit", (e) => {
  if ("again" in e.target.dataset || "soft" in e.target.dataset) return;
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
    if (is.revoked) return location.replace("/sign-in");
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
  // A newer version is asked for as soon as a page of it is seen, since the
  // browser looks for one in its own time, and again where it came in part.
  const version = script.dataset.version;
  const register = async (again) => {
    const r = await navigator.serviceWorker.register("/worker.js", { updateViaCache: "none" });
    const is = () => say(kept, "This browser is ready: jobs opened on it can be worked on without signal.");
    const watch = () => {
      if (r.installing) r.installing.onstatechange = ({ target: { state } }) => {
        if (state === "activated") is();
        if (state === "redundant") setTimeout(() => register(Math.min(2 * again, 60000)).catch(() => { /* with the next page */ }), again);
      };
    };
    r.onupdatefound = watch;
    watch();
    setInterval(() => r.waiting?.postMessage("take over"), 3000);
    if (!r.active) return;
    is();
    if (version && !r.installing && !r.waiting && !(await caches.has("chargewright " + version))) await r.update();
  };
  register(5000).then(() => {
    navigator.storage?.persist?.();
    ask("send");
    addEventListener("online", now);
    document.addEventListener("visibilitychange", () => { if (!document.hidden) now(); });
  }).catch(() => say(kept, "This browser will not keep pages here: it needs https, or this same computer, and no private window."));
}
