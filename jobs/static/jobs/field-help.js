// Help at the point of need: the words for the field one is in, and what it is on the drawing. Beside the form where
// there is room; on a narrow page only when asked for, by the button at the field or by F1. Escape goes back.
const WIDE = window.matchMedia("(min-width: 1151px)");
const known = new Map();
let field = null;

const panel = () => document.getElementById("field-help");
const words = () => document.getElementById("field-help-words");
const drawing = () => document.getElementById("drawing");

async function ask(name) {
  const key = name.replace(/\[\d+\](\[\d\])?/g, (all, pair) => pair || "");
  if (!known.has(key)) {
    const answer = await fetch(panel().dataset.about + "?field=" + encodeURIComponent(name));
    known.set(key, answer.ok && !answer.redirected ? await answer.text() : null);
  }
  return known.get(key);
}

function mark() {
  for (const marked of drawing().querySelectorAll(".pointed")) marked.classList.remove("pointed");
  const told = panel().querySelector("[data-shows]");
  if (!field || !told || panel().hidden) return;
  const item = field.name.match(/^[a-z]+\[\d+\]/);
  let found = 0;
  for (const role of told.dataset.shows.split(" ").filter(Boolean)) {
    const own = item ? drawing().querySelectorAll('[data-part~="' + item[0] + '"] .dw-' + role) : [];
    const all = own.length ? own : drawing().querySelectorAll(".dw-" + role);
    for (const one of all) { one.classList.add("pointed"); found += 1; }
  }
  if (WIDE.matches) bringIntoSight(drawing().querySelector(".pointed"));
  const said = panel().querySelector(".on-drawing");
  if (said) said.hidden = found === 0;
}

// The column beside the form scrolls by itself; the page under the fingers stays where it is.
function bringIntoSight(one) {
  if (!one) return;
  const column = panel().parentElement;
  const at = one.getBoundingClientRect(), top = column.getBoundingClientRect().top;
  if (at.top < top || at.bottom > panel().getBoundingClientRect().top) column.scrollTop += at.top - top - 80;
}

async function show(asked) {
  if (!field || !(WIDE.matches || asked)) return;
  const mine = field;
  let text = null;
  try { text = await ask(mine.name); } catch { return; /* no connection: the last words stay */ }
  if (mine !== field || text === null) return;
  words().innerHTML = text;
  panel().hidden = false;
  mark();
  if (asked) panel().focus();
}

function close() {
  if (!WIDE.matches) panel().hidden = true;
  mark();
  if (field && field.isConnected) field.focus();
}

function offer() {
  const button = document.getElementById("field-help-ask");
  if (button && field && !WIDE.matches) { field.after(button); button.hidden = false; }
}

document.addEventListener("focusin", (event) => {
  if (!panel() || !event.target.matches("#specification input:not([type=hidden]), #specification select, #specification textarea")) return;
  if (!/[a-z]/.test(event.target.name) || event.target.closest(".save-bar")) return;
  field = event.target;
  offer();
  show(false);
});
document.addEventListener("keydown", (event) => {
  if (!panel()) return;
  if (event.key === "F1" && event.target === field) { event.preventDefault(); show(true); }
  if (event.key === "Escape" && panel().contains(event.target)) { event.preventDefault(); close(); }
});
document.addEventListener("click", (event) => {
  if (event.target.closest("#field-help-ask")) show(true);
  if (event.target.closest("#field-help-close")) close();
});
// The form is swapped as a whole by its own buttons: the button at the field goes home first, so as not to be lost.
document.addEventListener("htmx:beforeSwap", () => {
  const button = document.getElementById("field-help-ask");
  if (button && panel()) { button.hidden = true; panel().after(button); }
});
new MutationObserver(mark).observe(drawing(), { childList: true });
