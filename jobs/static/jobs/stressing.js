// Stressing: says at once whether what is typed is in tolerance, draws the crown as typed, and shows the next turn when
// the book is out of reach. The bands and all words come with the page; the book judges every reading again.
import * as store from "./queue-store.js";

const place = document.getElementById("plan");
const plan = JSON.parse(place.dataset.plan);
const form = document.querySelector("form[data-reading]");
const begin = document.querySelector("form[data-begin]");         // only where no round is under way yet
const stop = document.getElementById("stop-screen");
const words = plan.words;
const FIELDS = ["torque_lbf_ft", "elongation_in", "lift_off_lbf"];

const say = (key, values = {}) => words[key].replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));
const short = (value) => String(Number(value.toPrecision(3)));

// A plain number or a fraction; with a unit of its own it is left to the book.
function number(text) {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  if (/^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain)) return Number(plain);
  const parts = plain.match(/^(?:(\d+)[ -])?(\d+)\/(\d+)$/);
  return parts && Number(parts[3]) ? Number(parts[1] || 0) + Number(parts[2]) / Number(parts[3]) : null;
}

const field = (name) => form.elements.namedItem(name);
const sent = (entry) => (name) => (entry.pairs.find(([key]) => key === name) || ["", ""])[1];
const typed = (name, of) => (of ? of(name) : field(name) ? field(name).value : "");
const turnOf = (rod, step) => plan.turns.find((turn) => turn.rod === rod && turn.step === Number(step));

function against(band, value) {
  const off = value - band.aim;
  return Math.abs(off) <= band.off * (1 + 1e-9) ? "in" : off > 0 ? "over" : "under";
}

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

function chip(name) {
  const input = field(name);
  let said = input.parentElement.querySelector("output");
  if (!said) {
    said = document.createElement("output");
    said.htmlFor = input.id;
    said.setAttribute("aria-live", "polite");
    input.after(said);
  }
  return said;
}

function mark(name, tone, text) {
  const said = chip(name);
  said.className = tone ? `verdict verdict-${tone}` : "";
  said.textContent = text;
}

function sayTyped() {
  const turn = turnOf(field("rod").value, field("step").value);
  for (const name of FIELDS) {
    const value = number(field(name).value), band = turn.bands[name];
    const unjudged = value === null || (name === "torque_lbf_ft" && !plan.byTorque);
    if (unjudged) { mark(name, "", ""); continue; }
    const how = against(band, value);
    mark(name, how === "in" ? "pass" : "fail", how === "in" ? `✓ ${say("in")}` : `✗ ${say(how, { most: short(band.aim + band.off), least: short(band.aim - band.off) })}`);
  }
  const crown = number(field("crown_in").value);
  const how = crown === null ? "" : crownSays(crown, turn.last);
  mark("crown_in", how === "in" ? "pass" : how ? "fail" : "", how === "" ? "" : how === "in" ? `✓ ${say("in")}` : how === "stop"
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
  for (const name of [...FIELDS, "crown_in"]) mark(name, "", "");
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

function answer(turn, verdict) {
  const section = document.getElementById("answer-here");
  section.hidden = false;
  section.className = `answer ${verdict.findings.length ? "tone-fail" : "tone-pass"}`;
  const head = document.createElement("h2"), under = document.createElement("small"), list = document.createElement("ul");
  head.textContent = verdict.findings.length ? `✗ ${say("outOfTolerance")}` : `✓ ${say("inTolerance")}`;
  under.textContent = `${turn.title}; ${say("onTablet")}`;
  head.append(under);
  for (const finding of verdict.findings) {
    const item = document.createElement("li");
    item.textContent = finding;
    list.append(item);
  }
  section.replaceChildren(head, list);
  document.getElementById("answer-of-book")?.setAttribute("hidden", "");
}

function halt() {
  stop.hidden = false;
  document.getElementById("at-work").hidden = true;
  stop.scrollIntoView();
  stop.tabIndex = -1;
  stop.focus();
}

function taken(entry) {
  const of = sent(entry);
  const turn = turnOf(of("rod"), of("step"));
  if (!turn) return;
  const verdict = judge(turn, of);
  markTurn(turn, !verdict.findings.length);
  answer(turn, verdict);
  if (verdict.stop) { halt(); return; }
  const next = nextAfter(turn, verdict);
  if (next) showTurn(next, next === turn);
  else { form.hidden = true; document.getElementById("turn").textContent = say("allRead"); }
}

// ---- a round begun here, before the book knows of it ---------------------------------------------------------------

let round = form ? field("round").value : "";

// `id`: of the entry that begins the round; the book knows the round by it. `gauge`: what its gauge shows, as typed.
function begun(id, gauge) {
  round = id;
  for (const input of document.querySelectorAll('input[name="round"]')) input.value = id;
  const step = number(gauge);
  for (const turn of plan.turns) {
    turn.coarse = step !== null && step > turn.finest * (1 + 1e-9) ? say("coarse", { rod: turn.rod, finest: `${short(turn.finest)} ${plan.crownUnit}` }) : "";
  }
  begin.hidden = true;
  const told = document.getElementById("begun-here");
  told.textContent = say("begun");
  told.hidden = false;
  document.getElementById("at-work").hidden = false;
  showTurn(plan.turns[0], false);
}

if (form) {
  const mine = new URL(form.action).pathname, starts = begin ? new URL(begin.action).pathname : "";
  const isMine = (entry) => entry.url === mine && ["", round].includes(sent(entry)("round"));
  form.addEventListener("input", sayTyped);
  form.addEventListener("draft:back", sayTyped);
  document.addEventListener("queue:kept", ({ detail }) => {
    if (detail.form === form) taken(detail.entry);
    else if (detail.form === begin) begun(detail.entry.id, sent(detail.entry)("gauge_resolution_in"));
  });
  const waiting = await store.waiting().catch(() => []);
  const first = begin ? waiting.find((entry) => entry.url === starts) : null;
  const after = begin ? waiting.find((entry) => entry.url === mine && sent(entry)("round")) : null;
  if (first) begun(first.id, sent(first)("gauge_resolution_in"));
  else if (after) begun(sent(after)("round"), "");             // the book has the beginning, and not yet all that followed
  waiting.filter(isMine).forEach(taken);
  document.addEventListener("queue:shown", ({ detail: { rows } }) => {
    const left = rows.some((entry) => entry.state === "waiting" && [mine, starts].includes(entry.url));
    const here = done.size || (begin && round);
    if (here && !left && navigator.onLine) location.reload();           // the book has them all: its own page now
  });
  if ([...FIELDS, "crown_in"].some((name) => field(name).value)) sayTyped();
}

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
