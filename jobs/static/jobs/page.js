// What every page needs: the number of each entry, what was typed and not yet accepted, and a session that ran out.
import { newRequestId } from "./request-id.js";
import { keepDrafts } from "./drafts.js";

function numberEntries(root) {
  for (const form of root.querySelectorAll("form[data-entry]")) {
    const field = form.elements.namedItem("request_id");
    if (field && !form.dataset.numbered) {
      field.value = newRequestId();
      form.dataset.numbered = "yes";
    }
  }
}

function oneSubmitOnly(event) {
  const form = event.target;
  if (form.method !== "post" || form.hasAttribute("data-again")) return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "yes";
  // The buttons stay enabled: a disabled one would not send its own name and value.
  setTimeout(() => { delete form.dataset.sent; }, 8000);
}

function signedOut(event) {
  const where = event.detail.xhr && event.detail.xhr.responseURL;
  if (where && new URL(where).pathname === "/sign-in/") {
    event.detail.shouldSwap = false;
    window.location.assign("/sign-in/?next=" + encodeURIComponent(window.location.pathname + window.location.search));
  }
}

function focusFirstFault(root) {
  const list = root.querySelector("[data-faults]");
  if (list) list.focus();
}

function start(root, opened) {
  numberEntries(root);
  keepDrafts(root, opened);
}

document.addEventListener("submit", oneSubmitOnly);
document.addEventListener("htmx:beforeSwap", signedOut);
document.addEventListener("htmx:load", (event) => start(event.detail.elt, false));
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const open of document.querySelectorAll("details.person-menu[open]")) {
    open.removeAttribute("open");
    open.querySelector("summary").focus();
  }
});
document.addEventListener("click", (event) => {
  for (const open of document.querySelectorAll("details.person-menu[open]")) {
    if (!open.contains(event.target)) open.removeAttribute("open");
  }
});
window.addEventListener("pageshow", (event) => {
  if (event.persisted) for (const form of document.forms) delete form.dataset.sent;
});
start(document, true);
focusFirstFault(document);
