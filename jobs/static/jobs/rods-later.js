// Lift-off and re-stressing: says at once whether what is typed is in its band, and what it says of the entries that
// wait here. The bands and all words come with the page; the book judges every entry again.
import * as store from "./queue-store.js";
import { against, answer, halt, mark, markAgainst, number, sayWith, sent, short } from "./readings.js";

const plan = JSON.parse(document.getElementById("plan").dataset.plan);
const form = document.querySelector("form[data-entry]");          // not there where nothing is due
const stop = document.getElementById("stop-screen");
const say = sayWith(plan.words);
const field = (name) => form.elements.namedItem(name);
const lifting = plan.kind === "lift-off";

const overLimit = (value) => plan.crown !== null && value !== null && Math.abs(value) > plan.crown.limit;
const overWords = () => say("crownStop", { limit: `${short(plan.crown.limit)} ${plan.crown.unit}` });

// ---- as it is typed -----------------------------------------------------------------------------------------------

function sayTyped() {
  if (lifting) {
    const band = plan.rods[field("rod").value];
    if (band) markAgainst(field("force_lbf"), band, say);
    else mark(field("force_lbf"), "", "");
    return;
  }
  for (const [rod, name] of Object.entries(plan.fields)) markAgainst(field(name), plan.rods[rod], say);
  const over = overLimit(number(field("crown_in").value));
  mark(field("crown_in"), over ? "fail" : "", over ? `✗ ${overWords()}` : "");
  stop.hidden = !over;
}

// ---- an entry that waits here ---------------------------------------------------------------------------------------

function liftOffSays(rod, text) {
  const band = plan.rods[rod], value = number(text);
  if (!band) return [say("liftUnknown", { rod })];
  return value === null || against(band, value) === "in" ? [] : [say("liftOut", { rod })];
}

function reStressingSays(of) {
  const findings = [];
  for (const [rod, name] of Object.entries(plan.fields)) {
    const value = number(of(name));
    const how = value === null ? "in" : against(plan.rods[rod], value);
    if (how !== "in") findings.push(say(how === "over" ? "rodOver" : "rodUnder", { rod }));
  }
  if (overLimit(number(of("crown_in")))) findings.push(overWords());
  return findings;
}

function ageWords(age) {
  const option = [...field("age_days").options].find((one) => one.value === age);
  return option ? option.textContent.trim() : age;
}

// An age that is done here, in tolerance, is asked for no more on this tablet.
function ageDone(age) {
  [...field("age_days").options].find((one) => one.value === age)?.remove();
  if (field("age_days").options.length) return;
  form.hidden = true;
  const told = document.createElement("p");
  told.textContent = say("allAges");
  form.before(told);
}

function taken(entry) {
  const of = sent(entry), section = document.createElement("section");
  document.getElementById("answers-here").append(section);
  if (lifting) { answer(section, say("rod", { rod: of("rod") }), liftOffSays(of("rod"), of("force_lbf")), say); return; }
  const findings = reStressingSays(of), over = overLimit(number(of("crown_in")));
  answer(section, say("again", { age: ageWords(of("age_days")) }), findings, say);
  if (!findings.length) ageDone(of("age_days"));
  if (over) halt(stop);
}

if (form) {
  const mine = new URL(form.action || location.href).pathname;
  const ours = (entry) => entry.url === mine;
  form.addEventListener("input", sayTyped);
  form.addEventListener("draft:back", sayTyped);
  form.addEventListener("reset", () => setTimeout(sayTyped));     // kept here: the form is empty for the next
  document.addEventListener("queue:kept", ({ detail }) => { if (ours(detail.entry)) taken(detail.entry); });
  let here = false;
  for (const entry of (await store.waiting().catch(() => [])).filter(ours)) { here = true; taken(entry); }
  document.addEventListener("queue:kept", () => { here = true; });
  document.addEventListener("queue:shown", ({ detail: { rows } }) => {
    const left = rows.some((entry) => entry.state === "waiting" && ours(entry));
    if (here && !left && navigator.onLine) location.reload();     // the book has them all: its own page now
  });
  sayTyped();
}
