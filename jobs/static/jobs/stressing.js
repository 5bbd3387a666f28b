// Stressing: says at once whether what is typed is in tolerance, draws the crown as typed, and shows the next turn when
// the book is out of reach. The bands and all words come with the page; the book judges every reading again.
import * as store from "./queue-store.js";
import { against, answer, halt, mark, markAgainst, number, sayWith, sent, short } from "./readings.js";

const place = document.getElementById("plan");
const plan = JSON.parse(place.dataset.plan);
const form = document.querySelector("form[data-reading]");
const begin = document.querySelector("form[data-begin]");         // only where no round is under way yet
const stop = document.getElementById("stop-screen");
const finish = document.getElementById("finish");                 // not there where the page itself shows the stop
const say = sayWith(plan.words);
const FIELDS = ["torque_lbf_ft", "elongation_in", "lift_off_lbf"];

const field = (name) => form.elements.namedItem(name);
const typed = (name, of) => (of ? of(name) : field(name) ? field(name).value : "");
const turnOf = (rod, step) => plan.turns.find((turn) => turn.rod === rod && turn.step === Number(step));

function crownSays(value, last) {
  if (Math.abs(value) > plan.crown.limit) return "stop";
  const [low, high] = [plan.crown.low, plan.crown.high].sort((a, b) => a - b);
  return last && (value < low || value > high) ? "out" : "in";
}

// ---- the verdict on one reading: {findings, stop, sure} -----------------------------------------------------------

function judge(turn, of) {
  const findings = [];
  let sure = true;
  const read = (name) => {
    const text = typed(name, of);
    const value = text ? number(text) : null;
    if (text && value === null) sure = false;
    return { text, value };
  };
  const torque = read("torque_lbf_ft"), stretch = read("elongation_in"), lift = read("lift_off_lbf"), crown = read("crown_in");
  for (const [name, one] of [["lift_off_lbf", lift], ["elongation_in", stretch], ["torque_lbf_ft", plan.byTorque ? torque : { value: null }]]) {
    if (one.value === null) continue;
    const how = against(turn.bands[name], one.value);
    if (how !== "in") findings.push(say(`${name}_${how}`));
  }
  if (stretch.text && turn.coarse) findings.push(turn.coarse);
  if (!stretch.text && !lift.text) findings.push(say("noStretch"));
  if (plan.byTorque && !torque.text) findings.push(say("noTorque"));
  if (torque.value > 0 && stretch.value > 0) {
    const ratio = (torque.value / turn.bands.torque_lbf_ft.aim) / (stretch.value / turn.bands.elongation_in.aim);
    if (Math.max(ratio, 1 / ratio) > plan.apart * (1 + 1e-9)) findings.push(say("disagree"));
  }
  const crownHow = crown.value === null ? "" : crownSays(crown.value, turn.last);
  if (turn.last && !crown.text) findings.push(say("noCrown"));
  if (crownHow === "out") findings.push(say("crownOut", { low: short(plan.crown.low), high: short(plan.crown.high) }));
  if (crownHow === "stop") findings.push(say("crownStop", { limit: `${short(plan.crown.limit)} ${plan.crownUnit}` }));
  return { findings, stop: crownHow === "stop", sure };
}

// ---- as it is typed -----------------------------------------------------------------------------------------------

function sayTyped() {
  const turn = turnOf(field("rod").value, field("step").value);
  for (const name of FIELDS) {
    if (name === "torque_lbf_ft" && !plan.byTorque) mark(field(name), "", "");
    else markAgainst(field(name), turn.bands[name], say);
  }
  const crown = number(field("crown_in").value);
  const how = crown === null ? "" : crownSays(crown, turn.last);
  mark(field("crown_in"), how === "in" ? "pass" : how ? "fail" : "", how === "" ? "" : how === "in" ? `✓ ${say("in")}` : how === "stop"
    ? `✗ ${say("crownStop", { limit: `${short(plan.crown.limit)} ${plan.crownUnit}` })}` : `✗ ${say("crownOut", { low: short(plan.crown.low), high: short(plan.crown.high) })}`);
  sayForces(turn);
  if (crown !== null) drawCrown(crown);
}

function sayForces(turn) {
  const line = document.getElementById("forces");
  const torque = number(field("torque_lbf_ft").value), stretch = number(field("elongation_in").value);
  const both = torque > 0 && stretch > 0;
  line.hidden = !both;
  if (both) {
    line.textContent = say("forces", {
      stretch: Math.round(100 * stretch / turn.bands.elongation_in.aim), torque: Math.round(100 * torque / turn.bands.torque_lbf_ft.aim),
    });
  }
}

function drawCrown(value) {
  const drawn = document.querySelector(".crown-drawing"), line = document.getElementById("crown-measured");
  if (!drawn || !line) return;
  const { left, right, base, perUnit } = drawn.dataset;
  const points = [];
  for (let k = 0; k <= 40; k += 1) {
    const x = 30 + 640 * k / 40, share = 1 - ((2 * x - Number(left) - Number(right)) / (Number(right) - Number(left))) ** 2;
    points.push(`${x.toFixed(1)} ${(Number(base) - Number(perUnit) * value * share).toFixed(1)}`);
  }
  line.setAttribute("d", `M${points.join("L")}`);
}

// ---- without the book: mark the turn, show the next ---------------------------------------------------------------

const done = new Map();                                       // "R2:0" → in tolerance or not, by what waits here

function stepItem(turn) {
  return document.querySelector(`[data-turn="${CSS.escape(`${turn.rod}:${turn.step}`)}"]`);
}

function markTurn(turn, within) {
  done.set(`${turn.rod}:${turn.step}`, within);
  const item = stepItem(turn);
  if (!item) return;
  item.classList.remove("now", "done", "out");
  item.classList.add(within ? "done" : "out", "waits");
  item.textContent = `${item.dataset.share} ${within ? "✓" : "✗"} ○`;
}

const isRead = (turn) => {
  const item = stepItem(turn);
  return item && (item.classList.contains("done") || item.classList.contains("out"));
};

function showTurn(turn, again) {
  field("rod").value = turn.rod;
  field("step").value = turn.step;
  document.getElementById("turn").textContent = again ? say("again", { title: turn.title }) : turn.title;
  document.getElementById("turn-under").textContent = turn.under;
  form.querySelector("button.main").textContent = turn.button;
  document.querySelectorAll("#aims [data-block]").forEach((block, k) => {
    block.querySelector("dd span").textContent = turn.shown[k][0];
    const note = block.querySelector(".band-note");
    if (note) note.textContent = turn.shown[k][1];
  });
  document.getElementById("crown-aim").hidden = !turn.final;
  const coarse = document.getElementById("coarse");
  coarse.textContent = turn.coarse;
  coarse.hidden = !turn.coarse;
  const item = stepItem(turn);
  if (item && !again) item.classList.add("now");
  for (const name of [...FIELDS, "crown_in"]) mark(field(name), "", "");
  document.getElementById("forces").hidden = true;
}

function nextAfter(turn, verdict) {
  const go = document.getElementById("go-on");
  go.hidden = true;
  if (!verdict.findings.length) return plan.turns.find((one) => !isRead(one));
  const next = plan.turns.find((one) => !isRead(one));
  go.hidden = !next;
  go.onclick = () => { go.hidden = true; showTurn(next, false); field("line_clear").focus(); };
  return turn;
}

function taken(entry) {
  const of = sent(entry);
  const turn = turnOf(of("rod"), of("step"));
  if (!turn) return;
  const verdict = judge(turn, of);
  markTurn(turn, !verdict.findings.length);
  answer(document.getElementById("answer-here"), turn.title, verdict.findings, say);
  document.getElementById("answer-of-book")?.setAttribute("hidden", "");
  if (verdict.stop) { atWork(false); halt(stop); return; }
  const next = nextAfter(turn, verdict);
  if (next) showTurn(next, next === turn);
  else allRead();
}

// Not there where the page itself shows the stop.
function atWork(shown) {
  const work = document.getElementById("at-work");
  if (work) work.hidden = !shown;
}

// Every turn was read: the round can end here too, once every rod is in at its last step. The book looks again.
function allRead() {
  const out = plan.turns.find((turn) => turn.final && !stepItem(turn).classList.contains("done"));
  if (out) { showTurn(out, true); return; }
  form.hidden = true;
  document.getElementById("turn").textContent = say("allRead");
  finish.hidden = false;
}

// The end of the round, tapped here and not yet in the book: nothing more is read into it on this tablet.
let over = false;
function ended(key) {
  over = true;
  atWork(false);
  stop.hidden = true;
  const told = document.getElementById("ended-here");
  told.textContent = say(key);
  told.hidden = false;
}

// ---- a round begun here, before the book knows of it ---------------------------------------------------------------

let round = stop.querySelector('input[name="round"]').value;

// The rods were slackened in an entry that waits here: the round that follows on it is open.
function open() {
  document.getElementById("not-yet")?.setAttribute("hidden", "");
  document.getElementById("to-begin").hidden = false;
}

// `id`: of the entry that begins the round; the book knows the round by it. `gauge`: what its gauge shows, as typed.
function begun(id, gauge) {
  round = id;
  for (const input of document.querySelectorAll('input[name="round"]')) input.value = id;
  const step = number(gauge);
  for (const turn of plan.turns) {
    turn.coarse = step !== null && step > turn.finest * (1 + 1e-9) ? say("coarse", { rod: turn.rod, finest: `${short(turn.finest)} ${plan.crownUnit}` }) : "";
  }
  open();
  begin.hidden = true;
  const told = document.getElementById("begun-here");
  told.textContent = say("begun");
  told.hidden = false;
  atWork(true);
  showTurn(plan.turns[0], false);
}

const pathOf = (one) => (one ? new URL(one.action).pathname : "");
const ends = { [pathOf(finish?.querySelector("form"))]: "finished", [pathOf(stop.querySelector("form"))]: "stopped" };
const [mine, starts, slackens] = [pathOf(form), pathOf(begin), begin?.dataset.after || ""];
const isMine = (entry) => ["", round].includes(sent(entry)("round"));
const follow = (entry) => { if (entry.url === mine) taken(entry); else if (ends[entry.url]) ended(ends[entry.url]); };

form?.addEventListener("input", sayTyped);
form?.addEventListener("draft:back", sayTyped);
document.addEventListener("queue:kept", ({ detail }) => {
  if (detail.form === begin) begun(detail.entry.id, sent(detail.entry)("gauge_resolution_in"));
  else follow(detail.entry);
});
const waiting = await store.waiting().catch(() => []);
const first = begin ? waiting.find((entry) => entry.url === starts) : null;
const after = begin ? waiting.find((entry) => (entry.url === mine || ends[entry.url]) && sent(entry)("round")) : null;
if (slackens && waiting.some((entry) => entry.url === slackens)) open();
if (first) begun(first.id, sent(first)("gauge_resolution_in"));
else if (after) begun(sent(after)("round"), "");               // the book has the beginning, and not yet all that followed
waiting.filter(isMine).forEach(follow);
document.addEventListener("queue:shown", ({ detail: { rows } }) => {
  const left = rows.some((entry) => entry.state === "waiting" && [mine, starts, slackens, ...Object.keys(ends)].includes(entry.url));
  const here = done.size || over || (begin && round);
  if (here && !left && navigator.onLine) location.reload();             // the book has them all: its own page now
});
if (form && [...FIELDS, "crown_in"].some((name) => field(name).value)) sayTyped();

// ---- keypad: large keys for the field in hand ---------------------------------------------------------------------

const pad = document.getElementById("keypad");
if (pad && form) {
  const fields = [...form.querySelectorAll('input[inputmode="decimal"]')];
  let hand = fields[0];
  const coarse = window.matchMedia("(pointer: coarse)");
  const own = () => { for (const one of fields) one.inputMode = coarse.matches ? "none" : "decimal"; };
  own();
  coarse.addEventListener("change", own);
  for (const one of fields) one.addEventListener("focus", () => { hand = one; });
  pad.hidden = false;
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("button")?.dataset.key;
    if (!key || !hand) return;
    if (key === "back") hand.value = hand.value.slice(0, -1);
    else if (key === "next") {
      hand = fields[(fields.indexOf(hand) + 1) % fields.length];
      hand.focus();
      return;
    } else hand.value += key;
    hand.dispatchEvent(new Event("input", { bubbles: true }));
    for (const one of fields) one.classList.toggle("in-hand", one === hand);
  });
}
