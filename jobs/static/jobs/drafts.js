// What was typed stays on this device until the site says it has it: a session that ends, a lost connection or a closed
// page costs nothing. Forms ask for it with data-draft="a name"; a message with data-accepted="that name" forgets it.
import { newRequestId } from "./request-id.js";
import { say } from "./queue-words.js";

const PREFIX = "camberbook:draft:";
const KEEP_DAYS = 14;
const NEVER = new Set(["csrfmiddlewaretoken", "password", "do"]);
const CONFIRMED = /^(line_clear.*|cautions_confirmed)$/;                // looked at again each time, never filled in for anybody

function keyOf(name) {
  return PREFIX + (document.body.dataset.person || "nobody") + ":" + name;
}

function read(key) {
  try {
    const kept = JSON.parse(localStorage.getItem(key));
    return kept && Date.now() - kept.at < KEEP_DAYS * 86400000 ? kept : null;
  } catch { return null; }
}

function write(key, pairs) {
  try { localStorage.setItem(key, JSON.stringify({ at: Date.now(), pairs })); } catch { /* full or forbidden: nothing to keep in */ }
}

function forget(key) {
  try { localStorage.removeItem(key); } catch { /* as above */ }
}

export const forgetDraft = (name) => forget(keyOf(name));

function pairsOf(form) {
  const pairs = [];
  for (const [name, value] of new FormData(form)) {
    if (!NEVER.has(name) && typeof value === "string") pairs.push([name, value]);
  }
  return pairs;
}

function sameTyped(a, b) {
  const plain = (pairs) => JSON.stringify(pairs.filter(([name]) => name !== "request_id" && name !== "at"));
  return plain(a) === plain(b);
}

function putBack(form, pairs) {
  const values = new Map();
  for (const [name, value] of pairs) values.set(name, [...(values.get(name) || []), value]);
  for (const field of form.elements) {
    if (!field.name || NEVER.has(field.name) || CONFIRMED.test(field.name) || field.type === "file" || field.type === "submit") continue;
    const kept = values.get(field.name) || [];
    if (field.type === "checkbox" || field.type === "radio") field.checked = kept.includes(field.value);
    else if (kept.length) field.value = kept.shift();
  }
  form.dispatchEvent(new CustomEvent("draft:back", { bubbles: true }));
  // Sent again as it was, it is the entry it was; with something changed it is another one, and gets a number of its own.
  const number = form.elements.namedItem("request_id");
  if (number) form.addEventListener("input", () => { number.value = newRequestId(); }, { once: true });
}

// What the entry is about: the rod and step, the revision. Served by the site in hidden fields.
function subjectOf(form) {
  return [...form.elements].filter((field) => field.type === "hidden" && field.name !== "request_id" && !NEVER.has(field.name));
}

function aboutTheSame(form, pairs) {
  const kept = new Map(pairs);
  return subjectOf(form).every((field) => !kept.has(field.name) || kept.get(field.name) === field.value);
}

// An entry about something else (another turn of the rods, an older revision) is shown, and nothing of it is filled in.
function showOnly(form, pairs) {
  const hidden = new Set(subjectOf(form).map((field) => field.name).concat("request_id"));
  const words = pairs.filter(([name, value]) => value && !CONFIRMED.test(name) && name !== "request_id")
    .map(([name, value]) => `${hidden.has(name) ? "" : `${say("draftTyped")} `}${name.replace(/_/g, " ")} ${value}`).join(", ");
  return `${say("draftOther", { words })} `;
}

function tell(form, key, pairs) {
  const same = Boolean(form.dataset.draftRedraw) || aboutTheSame(form, pairs);     // the editor's base revision is judged when saved
  const note = document.createElement("div");
  note.className = "note warning";
  note.setAttribute("role", "status");
  note.append(same ? `${say("draftBack")} ` : showOnly(form, pairs));
  const drop = document.createElement("button");
  drop.type = "button";
  drop.className = "button light";
  drop.textContent = say("draftDrop");
  drop.addEventListener("click", () => { forget(key); window.location.reload(); });
  note.append(drop);
  form.before(note);
  if (!same) return;
  if (form.dataset.draftRedraw && window.htmx) {
    const values = {};
    for (const [name, value] of pairs) {
      if (name in values) values[name] = [].concat(values[name], value); else values[name] = value;
    }
    window.htmx.ajax("POST", form.dataset.draftRedraw, { target: form.dataset.draftTarget || form, swap: "outerHTML", values });
  } else putBack(form, pairs);
}

// `restore`: only when a page is opened. A form that the page itself has just swapped in is the newest there is.
export function keepDrafts(root, restore) {
  for (const accepted of document.querySelectorAll("[data-accepted]")) {
    for (const name of accepted.dataset.accepted.split(" ")) if (name) forget(keyOf(name));
    accepted.removeAttribute("data-accepted");
  }
  const forms = [...root.querySelectorAll("form[data-draft]")];
  if (root.matches && root.matches("form[data-draft]")) forms.push(root);
  for (const form of forms) {
    if (form.dataset.keeping) continue;
    form.dataset.keeping = "yes";
    const key = keyOf(form.dataset.draft);
    const kept = read(key);
    const asServed = pairsOf(form);
    if (restore && kept && !form.hasAttribute("data-refused") && !sameTyped(kept.pairs, asServed)) tell(form, key, kept.pairs);
    const keep = () => write(key, pairsOf(form));
    if (!restore) keep();
    form.addEventListener("input", keep);
    form.addEventListener("change", keep);
    form.addEventListener("submit", keep);
  }
}
