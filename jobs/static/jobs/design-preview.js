// The verdict beside the editor: the document that the editor just made is checked by the server, and nothing is kept.
// The quick answer comes first; what would help follows where something fails.
let newest = 0;

async function ask(address, text, token) {
  const answer = await fetch(address, {
    method: "POST", body: text, headers: { "Content-Type": "application/json", "X-CSRFToken": token },
  });
  return answer.ok && !answer.redirected ? answer.text() : null;
}

document.addEventListener("document:made", async (event) => {
  const box = document.getElementById("verdict-preview");
  if (!box) return;
  const mine = ++newest;
  const { text, token } = event.detail;
  const helps = document.getElementById("preview-helps");
  try {
    const verdict = await ask(box.dataset.preview, text, token);
    if (mine !== newest) return;
    box.classList.toggle("outdated", verdict === null);
    if (verdict === null) { helps.replaceChildren(); return; }
    box.innerHTML = verdict;
    if (!box.querySelector(".wrong")) { helps.replaceChildren(); return; }
    const words = await ask(box.dataset.preview + "?help=1", text, token);
    if (mine === newest && words !== null) helps.innerHTML = words;
  } catch { /* no connection: the last verdict stays */ }
});
