// Keeps the pages of today's pieces on this device, so that they can be read without the network. Needs https (or the
// machine itself) and a browser that has service workers; without, pages are read over the network as ever.
const PAGES = "camberbook-pages", EVERY_MS = 5 * 60000, STAMP = "camberbook:kept-at";
const bar = document.getElementById("queue");

async function fetched(page) {
  const answer = await fetch(page.url, { credentials: "same-origin", cache: "no-store", headers: { "X-Keep": "yes", ...(page.part ? { "HX-Request": "true" } : {}) } });
  return answer.ok && !answer.redirected ? answer : null;
}

async function keepAll() {
  const listed = await fetch("/tablet/pages.json", { credentials: "same-origin", cache: "no-store" });
  if (!listed.ok || listed.redirected) return;
  const { pages } = await listed.json();
  const kept = await caches.open(PAGES);
  for (const page of pages) {
    const answer = await fetched(page).catch(() => null);
    if (answer) await kept.put(page.url, answer);
  }
  const wanted = new Set(pages.map((page) => page.url));
  for (const request of await kept.keys()) {
    if (!wanted.has(new URL(request.url).pathname)) await kept.delete(request);
  }
  localStorage.setItem(STAMP, `${document.body.dataset.person} ${Date.now()}`);
  document.body.dataset.pagesKept = "yes";
}

// One page as it stands now, without the words that were said to whoever is reading it.
async function keepAnew(url) {
  const kept = await caches.open(PAGES);
  if (!(await kept.match(url, { ignoreVary: true }))) return;
  const answer = await fetched({ url }).catch(() => null);
  if (answer) await kept.put(url, answer);
}

// An entry of a piece changes what its other pages say and allow.
async function ofThePiece(url) {
  const [own] = url.match(/^\/pieces\/\d+\//) || [];
  if (!own) return [url];
  const kept = await (await caches.open(PAGES)).keys();
  return kept.map((request) => new URL(request.url).pathname).filter((path) => path.startsWith(own));
}

// The book took entries made on these pages: as they were kept they are of yesterday.
const stale = new Set();
document.addEventListener("queue:written", ({ detail }) => stale.add(detail.page));
document.addEventListener("queue:shown", async () => {
  const pages = [...stale];
  stale.clear();
  if (!pages.length || !("caches" in window) || !(await caches.has(PAGES))) return;
  const changed = new Set((await Promise.all(pages.map(ofThePiece))).flat());
  for (const page of changed) await keepAnew(page);
});

async function due() {
  if (!(await caches.has(PAGES))) return true;
  const [person, at] = (localStorage.getItem(STAMP) || "").split(" ");
  return person !== document.body.dataset.person || Date.now() - Number(at) > EVERY_MS;
}

async function start() {
  if (!("serviceWorker" in navigator) || !document.body.dataset.person) return;
  await navigator.serviceWorker.register("/service-worker.js", { scope: "/", updateViaCache: "none" });
  navigator.serviceWorker.addEventListener("message", (event) => {
    if (bar && event.data && event.data.reached) {
      bar.dataset.reached = event.data.reached;
      document.dispatchEvent(new CustomEvent("queue:again"));
    }
  });
  await navigator.serviceWorker.ready;
  navigator.serviceWorker.controller?.postMessage("reached?");
  if (navigator.onLine) await ((await due()) ? keepAll() : keepAnew(location.pathname));
}

start().catch(() => { /* no leave to keep anything: the site works over the network */ });
