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

// Entries of a count wait on the device while there is no network, and are sent once when it is back.
const QUEUE = "prep:count";
const waiting = () => { try { return JSON.parse(localStorage.getItem(QUEUE) || "[]"); } catch (_) { return []; } };
const keep = (entries) => localStorage.setItem(QUEUE, JSON.stringify(entries));
const tell = () => {
  const place = document.getElementById("waiting");
  if (place) {
    const count = waiting().length;
    place.textContent = count ? `${count} entr${count === 1 ? "y waits" : "ies wait"} on this device for the network.` : "";
  }
};
let sending = false;
async function flush() {
  if (sending) return;
  sending = true;
  try {
    for (let entries = waiting(); entries.length; entries = waiting()) {
      const answer = await fetch(entries[0].to, {
        method: "POST", body: new URLSearchParams(entries[0].what), headers: { "X-Queued": "1" }, redirect: "manual",
      });
      if (answer.status >= 500) break;
      if (answer.status === 422 || answer.status === 409 || answer.status === 403) {
        const item = document.getElementById(entries[0].item);
        if (item) { item.classList.remove("hidden"); item.querySelector(".wrong").textContent = "Not taken: " + (await answer.text()).slice(0, 300); }
      }
      keep(waiting().slice(1));
    }
  } catch (_) { /* no network: they wait */ } finally { sending = false; tell(); }
}
for (const form of document.querySelectorAll("form[data-queue]")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const data = new FormData(form);
    if (event.submitter && event.submitter.name) data.append(event.submitter.name, event.submitter.value);
    const item = form.closest("li");
    keep([...waiting(), { to: form.getAttribute("action"), what: [...data.entries()], item: item.id }]);
    item.classList.add("hidden");
    const left = document.querySelectorAll("li[data-bottle]:not(.hidden)");
    document.getElementById("left").textContent = left.length;
    if (left.length) left[0].querySelector("input:not([type=hidden]), button").focus();
    tell();
    flush();
  });
}
window.addEventListener("online", flush);
if (document.getElementById("waiting")) { tell(); flush(); setInterval(flush, 15000); }

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
