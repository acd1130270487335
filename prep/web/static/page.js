"use strict";
// The page works without this; with it, things go quicker.

// A form is sent once, however often its button is pressed.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.sent) { event.preventDefault(); return; }
  if (form.method === "post" && !form.matches("[data-queue]")) {
    form.dataset.sent = "1";
    for (const button of form.querySelectorAll("button")) button.setAttribute("aria-disabled", "true");
  }
});
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form")) delete form.dataset.sent;
  for (const button of document.querySelectorAll("button[aria-disabled]")) button.removeAttribute("aria-disabled");
});

// The steps of a make: the next one stands large.
for (const steps of document.querySelectorAll("ol.steps")) {
  const mark = () => {
    let next = true;
    for (const item of steps.children) {
      const box = item.querySelector("input");
      item.classList.toggle("ticked", box.checked);
      item.classList.toggle("now", next && !box.checked);
      if (!box.checked) next = false;
    }
  };
  const key = "steps:" + steps.dataset.make;
  try {
    const kept = JSON.parse(sessionStorage.getItem(key) || "[]");
    steps.querySelectorAll("input").forEach((box, at) => { box.checked = Boolean(kept[at]); });
  } catch (_) { /* nothing was kept */ }
  steps.addEventListener("change", () => {
    const ticked = [...steps.querySelectorAll("input")].map((box) => box.checked);
    try { sessionStorage.setItem(key, JSON.stringify(ticked)); } catch (_) { /* it is not kept, then */ }
    mark();
  });
  mark();
}

// A figure on the balance, compared at once with what is wanted.
for (const field of document.querySelectorAll("[data-wanted]")) {
  const says = document.getElementById(field.dataset.says);
  let wait = 0;
  field.addEventListener("input", () => {
    clearTimeout(wait);
    wait = setTimeout(async () => {
      if (!field.value.trim()) { says.textContent = ""; return; }
      const asked = new URLSearchParams({ wanted: field.dataset.wanted, got: field.value });
      try { says.textContent = (await (await fetch("/weighed?" + asked)).json()).says; } catch (_) { says.textContent = ""; }
    }, 250);
  });
}

// Entries of a count wait on the device while there is no network, or nobody signed in, and are sent once when there is.
const QUEUE = "prep:count", REFUSED = "prep:refused";
const kept = (name) => { try { return JSON.parse(localStorage.getItem(name) || "[]"); } catch (_) { return []; } };
const keep = (name, entries) => localStorage.setItem(name, JSON.stringify(entries));
const me = () => (document.querySelector(".who a") || { textContent: "" }).textContent;
const here = location.pathname.split("/").slice(0, 3).join("/") + "/";
const AT_ONCE = 12;
let why = "", first = null;
// Of the bottles that are left, some are shown, from the chosen one on; gives them in the order in which they come.
const leftover = () => {
  const items = [...document.querySelectorAll("li[data-bottle]")], left = items.filter((item) => !item.classList.contains("hidden"));
  const says = document.getElementById("left"), list = document.querySelector("ol[data-rest]");
  const gone = items.length - left.length;
  if (says && !says.dataset.all) says.dataset.all = says.textContent;
  if (says) says.textContent = (list && !list.dataset.whole ? Number(says.dataset.all) : items.length) - gone;
  if (!list) return left;
  const at = first ? Math.max(0, left.findIndex((item) => item === first || first.compareDocumentPosition(item) & 4)) : 0;
  left.forEach((item, n) => item.classList.toggle("later", n < at || n >= at + AT_ONCE));
  for (const link of document.querySelectorAll("[data-of]")) {
    const item = document.getElementById(link.dataset.of);
    link.classList.toggle("hidden", Boolean(item) && item.classList.contains("hidden"));
  }
  for (const [name, n] of list.dataset.whole ? [["before", Math.max(0, at - AT_ONCE)], ["next", at + AT_ONCE]] : []) {
    const link = document.querySelector(`.turn .${name}`);
    link.classList.toggle("hidden", n === at || !left[n]);
    if (left[n]) link.hash = "#" + left[n].id;
  }
  return left.slice(at).concat(left.slice(0, at));
};
const tell = () => {
  const place = document.getElementById("waiting");
  if (!place) return;
  const count = kept(QUEUE).length;
  const waits = count ? `${count} entr${count === 1 ? "y waits" : "ies wait"} on this device${why || " for the network"}.` : "";
  const refused = kept(REFUSED).filter((one) => one.to.startsWith(here) && !document.getElementById(one.item));
  place.replaceChildren(...[waits, ...refused.map((one) => one.said)].filter(Boolean).map((line) => {
    const shown = document.createElement("span");
    shown.className = "hint waiting";
    shown.textContent = line;
    return shown;
  }));
  for (const one of kept(REFUSED)) {
    const item = document.getElementById(one.item);
    if (item && one.to.startsWith(here)) {
      item.classList.remove("hidden");
      item.querySelector(".wrong").textContent = one.said;
      const more = item.querySelector("details");
      if (more) more.open = true;  // what is missing may be asked there
    }
  }
  leftover();
};
let sending = false;
async function flush() {
  if (sending) return;
  sending = true;
  why = "";
  try {
    for (let entries = kept(QUEUE); entries.length; entries = kept(QUEUE)) {
      const next = entries[0], what = new URLSearchParams(next.what), token = document.querySelector("input[name=csrf]");
      if (next.by !== me()) { why = ` until ${next.by} is signed in`; break; }
      if (token) what.set("csrf", token.value);
      const answer = await fetch(next.to, { method: "POST", body: what, headers: { "X-Queued": "1" }, redirect: "manual" });
      if (answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403) {
        why = ": open this page again, and sign in if it asks";
        break;
      }
      if (answer.status === 429 || answer.status >= 500) break;
      if (!answer.ok) {
        const said = `${next.item.replace("bottle-", "")}, not taken: ${(await answer.text()).slice(0, 300)}`;
        keep(REFUSED, [...kept(REFUSED), { to: next.to, item: next.item, said }].slice(-50));
      }
      keep(QUEUE, kept(QUEUE).slice(1));
    }
  } catch (_) { /* no network: they wait */ } finally { sending = false; tell(); }
}
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.matches("form[data-queue]")) {
    event.preventDefault();
    const data = new FormData(form);
    if (event.submitter && event.submitter.name) data.append(event.submitter.name, event.submitter.value);
    const item = form.closest("li"), to = form.getAttribute("action");
    keep(REFUSED, kept(REFUSED).filter((one) => one.to !== to));
    item.querySelector(".wrong").textContent = "";
    keep(QUEUE, [...kept(QUEUE), { to, what: [...data.entries()], item: item.id, by: me() }]);
    form.elements.mark.value = crypto.getRandomValues(new Uint32Array(4)).join("-");
    item.classList.add("hidden");
    const left = leftover();
    if (left.length) left[0].querySelector("input:not([type=hidden]), button").focus();
    tell();
    flush();
  }
});
window.addEventListener("online", flush);
// What waits on the device is not asked for again.
const waits = (root) => {
  for (const one of kept(QUEUE)) {
    const item = one.to.startsWith(here) && root.querySelector("#" + CSS.escape(one.item));
    if (item && new URLSearchParams(one.what).get("seen") === item.querySelector("[name=seen]").value) item.classList.add("hidden");
  }
};
// The rest of the place is fetched while there is a network, so that it can be counted where there is none.
async function rest(list) {
  const first_one = list.querySelector("li[data-bottle]"), asked = new URLSearchParams(location.search).has("from");
  if (asked) first = document.getElementById(location.hash.slice(1)) || first_one;
  try {
    const page = new DOMParser().parseFromString(await (await fetch(list.dataset.rest)).text(), "text/html");
    waits(page);
    for (const item of page.querySelectorAll("li[data-bottle]")) {
      const there = document.getElementById(item.id);
      if (there && !there.dataset.bottle) there.replaceWith(item);
    }
    for (const gone of list.querySelectorAll("li.paper")) gone.remove();
    list.dataset.whole = "1";
  } catch (_) { /* its pages are asked for one by one, then */ }
  tell();
}
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href*='#bottle-']"), item = link && document.getElementById(link.hash.slice(1));
  if (!item || !item.dataset.bottle) return;
  event.preventDefault();
  first = item;
  const [next] = leftover(), jump = link.closest("details");
  if (jump) jump.open = false;
  if (next) { next.scrollIntoView(); next.querySelector("input:not([type=hidden]), button, a").focus(); }
});
if (document.getElementById("waiting")) {
  waits(document);
  tell();
  flush();
  setInterval(flush, 15000);
  const list = document.querySelector("ol[data-rest]");
  if (list && list.querySelector("form[data-queue]")) rest(list);
}

// The shelves, narrowed while one types.
const narrow = document.querySelector("[data-narrow]");
if (narrow) {
  narrow.addEventListener("input", () => {
    const words = narrow.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const row of document.querySelectorAll("[data-text]")) {
      row.classList.toggle("hidden", !words.every((word) => row.dataset.text.includes(word)));
    }
  });
}
