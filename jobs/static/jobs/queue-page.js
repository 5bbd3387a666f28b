// The tablet's own page: every entry that waits, and every one that was refused, as it was typed. A refused one goes
// when somebody puts it away with a word; that word is an entry like any other and can wait too.
import { newRequestId } from "./request-id.js";
import * as store from "./queue-store.js";
import { clock, say } from "./queue-words.js";

const lists = { waiting: document.getElementById("queue-waiting"), refused: document.getElementById("queue-refused") };

function made(tag, text = "", kind = "") {
  const element = document.createElement(tag);
  if (kind) element.className = kind;
  element.textContent = text;
  return element;
}

function described(entry) {
  const item = made("li", "", "leaf");
  item.append(made("h3", entry.what), made("p", `${clock(entry.at)} · ${entry.name}`, "soft"));
  const typed = made("dl", "", "typed");
  for (const [label, value] of entry.typed) {
    const pair = document.createElement("div");
    pair.append(made("dt", label), made("dd", value));
    typed.append(pair);
  }
  if (entry.typed.length) item.append(typed);
  return item;
}

function reasons(told) {
  const part = made("div", "", "note error");
  part.append(made("p", told.message || ""));
  const listed = told.blockers && told.blockers.length > 1 ? document.createElement("ul") : null;
  for (const blocker of listed ? told.blockers : []) listed.append(made("li", blocker.who ? `${blocker.text} ${say("inHand", { who: blocker.who })}` : blocker.text));
  if (listed) part.append(listed);
  if (told.non_conformance) {
    const link = made("a", say("keptAsFact", { n: told.non_conformance }));
    link.href = `/non-conformances/${told.non_conformance}/`;
    const line = document.createElement("p");
    line.append(link);
    part.append(line);
  }
  return part;
}

function putAway(entry, word) {
  const text = (value) => String(value || "").slice(0, 2000);
  const what = `${entry.what} (${entry.name}, ${entry.at}): ${entry.typed.map(([label, value]) => `${label}: ${value}`).join("; ")}`;
  const number = newRequestId();
  return store.add({
    state: "waiting", url: "/tablet/refused/", at: new Date().toISOString(), id: number, dismisses: entry.n, page: "/tablet/", piece: entry.piece,
    person: document.body.dataset.person || "", name: document.body.dataset.name || "", proof: document.body.dataset.proof || "",
    what: `${say("putAway")}: ${entry.what}`, typed: [[say("word"), word]],
    pairs: [["request_id", number], ["what", text(what)], ["refusal", text(entry.told.message)], ["word", word], ["piece", entry.piece], ["refused", entry.id]],
  });
}

function refusedItem(entry, dismissed) {
  const item = described(entry);
  item.append(reasons(entry.told));
  const page = made("a", say("openPage"), "button");
  page.href = entry.page;
  if (dismissed.has(entry.n)) {
    item.append(made("p", say("putAwayWaits"), "soft"));
    return item;
  }
  const form = document.createElement("form"), label = made("label", say("word")), word = document.createElement("textarea");
  word.id = `word-${entry.n}`; word.required = true; word.rows = 2; word.maxLength = 2000;
  label.htmlFor = word.id;
  const field = made("div", "", "field"), button = made("button", say("putAway"), "button");
  field.append(label, word);
  form.append(field, button, page);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!word.value.trim()) { word.focus(); return; }
    await putAway(entry, word.value.trim());
    document.dispatchEvent(new CustomEvent("queue:again"));
  });
  item.append(form);
  return item;
}

let drawn = "";
document.addEventListener("queue:shown", ({ detail: { rows } }) => {
  const now = JSON.stringify(rows.map((entry) => [entry.n, entry.state, entry.held]));
  if (now === drawn) return;                                  // a word half typed is left alone
  drawn = now;
  const dismissed = new Set(rows.map((entry) => entry.dismisses).filter(Boolean));
  const waits = rows.filter((entry) => entry.state === "waiting"), refused = rows.filter((entry) => entry.state === "refused");
  lists.waiting.replaceChildren(...(waits.length ? waits.map(described) : [made("li", say("nothingWaits"), "soft")]));
  lists.refused.replaceChildren(...(refused.length ? refused.map((entry) => refusedItem(entry, dismissed)) : [made("li", say("nothingRefused"), "soft")]));
});
