// The editor's extras: a button of the form swaps the form alone, the drawing follows what is typed. Without this file
// the same buttons send the page, and the drawing is on the design's own page.
const REST_MS = 300;
let rest = 0;
let newest = 0;

function form() { return document.getElementById("specification"); }

function send(wish, button) {
  const values = {};
  for (const [name, value] of new FormData(form())) values[name] = value;
  values.do = wish;
  const at = button ? { name: button.value, top: button.getBoundingClientRect().top } : null;
  return window.htmx.ajax("POST", form().getAttribute("action"), { target: "#specification", swap: "outerHTML", values })
    .then(() => { comeBack(wish, at); draw(); });
}

function comeBack(wish, at) {
  const [verb, path] = wish.split(" ");
  let place = null;
  if (verb === "add" && path) {
    const rows = [...form().elements].filter((field) => field.name && field.type !== "hidden" && field.name.startsWith(path));
    const last = rows.map((field) => field.name.slice(path.length).match(/^\[(\d+)\]/)).filter(Boolean).map((m) => +m[1]);
    const most = last.length ? Math.max(...last) : null;
    place = rows.find((field) => most === null || field.name.startsWith(path + "[" + most + "]"));
  } else if (verb === "redraw") {
    place = form().elements.namedItem(path);
  } else if (verb === "check") {
    place = form().querySelector("[data-faults]");
  } else if (path) {
    place = form().querySelector('button[value="add ' + path.replace(/\[\d+\]$/, "") + '"]');
  }
  if (place) place.focus({ preventScroll: verb === "redraw" });
}

async function draw() {
  const box = document.getElementById("drawing");
  if (!box || !box.dataset.preview) return;
  const mine = ++newest;
  const body = new FormData(form());
  body.set("do", "document");
  try {
    const made = await fetch(form().getAttribute("action"), { method: "POST", body, headers: { Accept: "application/json" } });
    if (!made.ok || made.redirected || mine !== newest) return;
    const text = JSON.stringify(await made.json());
    const token = body.get("csrfmiddlewaretoken");
    document.dispatchEvent(new CustomEvent("document:made", { detail: { text, token } }));
    const answer = await fetch(box.dataset.preview, {
      method: "POST", body: text, headers: { "Content-Type": "application/json", "X-CSRFToken": token },
    });
    if (mine !== newest || answer.redirected) return;
    if (answer.ok) { box.innerHTML = await answer.text(); box.classList.remove("old"); } else if (answer.status === 422) stale(box);
  } catch { /* no connection: the last drawing stays */ }
}

function stale(box) {
  if (box.querySelector(".drawing-old")) return;
  const note = document.createElement("p");
  note.className = "note warning drawing-old";
  note.textContent = "The entries do not make a piece just now; “Check the entries” says what is missing.";
  box.prepend(note);
}

document.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (event.target.id !== "specification" || !button || !window.htmx) return;
  if (button.value === "save" || button.value.startsWith("on-top")) return;
  event.preventDefault();
  send(button.value, button);
});
document.addEventListener("change", (event) => {
  if (event.target.matches("#specification [data-redraw]")) send("redraw " + event.target.name);
});
document.addEventListener("input", (event) => {
  if (!event.target.closest("#specification")) return;
  clearTimeout(rest);
  rest = setTimeout(draw, REST_MS);
});
document.addEventListener("click", (event) => {
  const link = event.target.closest('.fault-list a[href^="#"]');
  if (!link) return;
  const place = document.getElementById(link.hash.slice(1));
  if (!place) return;
  for (let around = place.closest("details"); around; around = around.parentElement.closest("details")) around.open = true;
  if (place.matches("input, select, textarea")) { event.preventDefault(); place.focus(); }
});
document.addEventListener("draft:back", draw);
if (form()) draw();
