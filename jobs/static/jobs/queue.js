// The crew's entries go through a queue on this device: kept first, then sent. With the network there the page goes on
// as if it were not; without it the entry waits, and the line under the page's head says how many do.
import { newRequestId } from "./request-id.js";
import { forgetDraft } from "./drafts.js";
import * as store from "./queue-store.js";
import { sendAll } from "./queue-send.js";
import { clock, say } from "./queue-words.js";

const AGAIN_MS = 15000;
const bar = document.getElementById("queue");
const NEVER = new Set(["csrfmiddlewaretoken", "request_id"]);

// ---- what is kept of an entry ----------------------------------------------------------------------------------

function labelOf(form, name) {
  const field = form.querySelector(`[name="${CSS.escape(name)}"]`);
  if (!field || field.type === "hidden") return "";
  const words = field.labels && field.labels[0] ? field.labels[0].textContent : name;
  return words.replace(/\s+/g, " ").trim();
}

// What a list was set to, by the words that were chosen.
function asShown(form, name, value) {
  const field = form.elements.namedItem(name);
  return field && field.tagName === "SELECT" ? field.selectedOptions[0].textContent.trim() : value;
}

function typedIn(form, pairs) {
  const seen = [];
  for (const [name, value] of pairs) {
    const label = NEVER.has(name) ? "" : labelOf(form, name);
    if (label && typeof value === "string" && value) seen.push([label, value === "on" ? "✓" : asShown(form, name, value)]);
    else if (label && value instanceof File && value.size) seen.push([label, value.name]);
  }
  return seen;
}

function entryOf(form, submitter) {
  const pairs = [...new FormData(form, submitter)].filter(([, value]) => typeof value === "string" || value.size);
  const head = document.querySelector("main h1");
  const button = submitter || form.querySelector("button:not([type=button])");
  return {
    state: "waiting", url: new URL(form.action, location.href).pathname, at: new Date().toISOString(), pairs,
    id: (pairs.find(([name]) => name === "request_id") || ["", ""])[1],
    person: document.body.dataset.person || "", name: document.body.dataset.name || "", proof: document.body.dataset.proof || "",
    what: `${head ? head.textContent.replace(/\s+/g, " ").trim() : document.title} — ${button ? button.textContent.trim() : ""}`,
    typed: typedIn(form, pairs), page: location.pathname, piece: document.body.dataset.piece || "",
  };
}

// ---- a tap -----------------------------------------------------------------------------------------------------

function note(form, entry, told) {
  const waits = document.createElement("div");
  waits.className = "note kept";
  waits.tabIndex = -1;
  waits.setAttribute("role", "status");
  const key = told.entry === "sign-in" ? "keptSignIn" : "kept";
  waits.textContent = `${say(key, { at: clock(entry.at) })} ${entry.typed.map(([label, value]) => `${label}: ${value}`).join("; ")}`;
  form.before(waits);
  if (form.querySelector("input:not([type=hidden]), textarea, select")) form.reset(); else form.hidden = true;
  const number = form.elements.namedItem("request_id");
  if (number) number.value = newRequestId();
  waits.focus();
}

function sentByHand(form, entry) {
  for (const [name, value] of entry.pairs) {
    if (form.elements.namedItem(name) || typeof value !== "string") continue;
    const hidden = document.createElement("input");
    [hidden.type, hidden.name, hidden.value] = ["hidden", name, value];
    form.append(hidden);
  }
  HTMLFormElement.prototype.submit.call(form);
}

let being_kept = 0;                                           // for that instant a page that goes would take the entry with it

window.addEventListener("beforeunload", (event) => { if (being_kept) event.preventDefault(); });

async function keep(entry) {
  being_kept += 1;
  try { return await store.add(entry); } finally { being_kept -= 1; }
}

async function tapped(event) {
  const form = event.target;
  if (event.defaultPrevented || !form.matches("form[data-entry]") || form.method !== "post") return;
  if (!document.body.classList.contains("floor")) return;
  event.preventDefault();
  const entry = entryOf(form, event.submitter);
  form.setAttribute("aria-busy", "true");
  try {
    entry.n = await keep(entry);
  } catch {                                                   // no room or no store: straight to the book
    form.removeAttribute("aria-busy");
    return sentByHand(form, entry);
  }
  show();
  const told = await sendAll(entry.n);
  if (told.entry !== "written") form.removeAttribute("aria-busy");      // else busy until the next page is there
  delete form.dataset.sent;
  if (told.entry === "refused") return sentByHand(form, entry);
  if (form.dataset.draft) forgetDraft(form.dataset.draft);
  if (told.entry === "written") {
    if (form.dataset.draft) forgetDraft(form.dataset.draft);
    return location.assign(told.next);
  }
  if (told.entry === "sign-in" && !told.other) return location.assign(`/sign-in/?next=${encodeURIComponent(location.pathname)}`);
  note(form, entry, told);
  document.dispatchEvent(new CustomEvent("queue:kept", { detail: { entry, form } }));
  show();
}

// ---- the line that says how it stands --------------------------------------------------------------------------

function part(text, kind, href) {
  const place = document.createElement(href ? "a" : "span");
  place.className = kind;
  place.textContent = text;
  if (href) place.href = href;
  return place;
}

export async function show() {
  if (!bar) return;
  let rows = [];
  try { rows = await store.all(); } catch { /* no store: nothing waits */ }
  const waits = rows.filter((entry) => entry.state === "waiting");
  const refused = rows.filter((entry) => entry.state === "refused");
  const offline = !navigator.onLine || bar.dataset.reached === "no";
  const parts = [];
  if (offline) parts.push(part(say("offline", { at: clock(document.body.dataset.drawnAt || Date.now()) }), "queue-offline"));
  if (waits.length) {
    const others = [...new Set(waits.filter((entry) => entry.held === "sign-in").map((entry) => entry.name))];
    parts.push(part(others.length ? say("waitsFor", { n: waits.length, name: others.join(", ") }) : say(waits.length === 1 ? "waitsOne" : "waits", { n: waits.length }), "queue-waits", "/tablet/"));
  }
  if (refused.length) parts.push(part(say(refused.length === 1 ? "refusedOne" : "refused", { n: refused.length }), "queue-refused", "/tablet/"));
  bar.replaceChildren(...parts);
  bar.hidden = parts.length === 0;
  document.dispatchEvent(new CustomEvent("queue:shown", { detail: { rows } }));
}

async function again() {
  try {
    if (navigator.onLine && (await store.waiting()).length) await sendAll();
  } finally { await show(); }
}

document.addEventListener("submit", tapped);
window.addEventListener("online", () => { if (bar) bar.dataset.reached = "yes"; again(); });
window.addEventListener("offline", show);
document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") again(); });
document.addEventListener("queue:again", again);
setInterval(again, AGAIN_MS);
again();
