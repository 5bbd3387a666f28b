// Sends what waits, one after the other and in order. An entry leaves the device when the answer says that it is
// written; a refusal stays, for a person to read; any other answer, or none, stops here and is tried again later.
// The number of an entry makes a second sending find the first, so a lost answer does no harm.
import * as store from "./queue-store.js";

const PATIENCE_MS = 20000;
let under_way = null;

function cookie(name) {
  const found = document.cookie.split("; ").find((pair) => pair.startsWith(name + "="));
  return found ? decodeURIComponent(found.slice(name.length + 1)) : "";
}

function body(entry) {
  const data = new FormData();
  for (const [name, value] of entry.pairs) data.append(name, value);
  data.set("csrfmiddlewaretoken", cookie("csrftoken"));      // of today, whatever it was when the entry was made
  return data;
}

// {entry: "written" | "refused" | "sign-in" | "later", …}
export async function post(entry, how) {
  try {
    const answer = await fetch(entry.url, {
      method: "POST", body: body(entry), credentials: "same-origin", redirect: "manual", cache: "no-store",
      signal: AbortSignal.timeout(PATIENCE_MS),
      headers: {
        "X-Entry": how, "X-Entry-At": entry.at, "X-Entry-Person": entry.person, "X-Entry-Proof": entry.proof,
        "X-CSRFToken": cookie("csrftoken"),
      },
    });
    if (!(answer.headers.get("Content-Type") || "").startsWith("application/json")) return { entry: "later", status: answer.status };
    const told = await answer.json();
    return ["written", "refused", "sign-in"].includes(told.entry) ? told : { entry: "later", status: answer.status };
  } catch { return { entry: "later", status: 0 }; }
}

async function settle(entry, told) {
  if (told.entry === "written") {
    if (entry.dismisses) await store.remove(entry.dismisses);
    await store.remove(entry.n);
    document.dispatchEvent(new CustomEvent("queue:written", { detail: { page: entry.page } }));
  } else if (told.entry === "refused" && entry.dismisses) {
    await store.remove(entry.n);                              // the refused entry itself stays, to be put away again
  } else if (told.entry === "refused") {
    await store.change({ ...entry, state: "refused", told });
  } else if (told.entry !== entry.held) {
    await store.change({ ...entry, held: told.entry });
  }
}

// `fresh`: the number in the store of an entry that somebody waits for on this page; what became of it is answered.
async function run(fresh) {
  let last = null;
  const away = new Set();                                     // people who have to sign in here before theirs can go
  for (const entry of await store.waiting()) {
    if (away.has(entry.person)) continue;
    const told = await post(entry, entry.n === fresh ? "now" : "queued");
    if (entry.n === fresh && told.entry === "refused") {      // the page shows it, with what was typed
      await store.remove(entry.n);
      return told;
    }
    await settle(entry, told);
    if (entry.n === fresh) last = told;
    if (told.entry === "sign-in" && told.other) away.add(entry.person);
    else if (told.entry === "later" || told.entry === "sign-in") break;
  }
  return last || { entry: "later", status: 0 };
}

// One sender on the device where the browser can see to it; elsewhere one in this page, and the numbers do the rest.
async function alone(act) {
  if (navigator.locks) return navigator.locks.request("camberbook-queue", act);
  while (under_way) await under_way;
  under_way = act();
  try { return await under_way; } finally { under_way = null; }
}

export const sendAll = (fresh = 0) => alone(() => run(fresh));
