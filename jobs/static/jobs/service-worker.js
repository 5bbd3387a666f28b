// The network first, always: what the book says now counts. Only where it does not answer, what was kept of the page.
// Served by the site with TOLD before it: the build, the files of the crew's pages, the page for an unknown address.
const FILES = `camberbook-files-${TOLD.build}`, PAGES = "camberbook-pages";
const PATIENCE_MS = 6000;                                     // poor wireless: a page from this morning beats none
const ENDS = new Set(["/sign-out/", "/tablet/change-over/", "/sign-in/"]);
let reached = "yes";

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const files = await caches.open(FILES);
    await files.addAll([...TOLD.keep, TOLD.offline].map((url) => new Request(url, { cache: "reload" })));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("camberbook-files-") && name !== FILES) await caches.delete(name);
    await self.clients.claim();
  })());
});

async function tell(how) {
  reached = how;
  for (const client of await self.clients.matchAll()) client.postMessage({ reached: how });
}

self.addEventListener("message", (event) => {
  if (event.data === "reached?") event.source.postMessage({ reached });
});

function kept(request) {
  const options = { ignoreVary: true, ignoreSearch: true };
  return caches.open(PAGES).then((pages) => pages.match(request, options)).then((found) => found || caches.match(request, options));
}

async function fromNetwork(request) {
  const answer = await fetch(request);
  if (reached !== "yes") tell("yes");
  // Whoever is led to the sign-in page is signed out: from then on nobody's pages are shown here.
  if (request.mode === "navigate" && new URL(request.url).pathname === "/sign-in/" && answer.ok) await caches.delete(PAGES);
  return answer;
}

async function answerFor(request) {
  const network = fromNetwork(request);
  const late = new Promise((done) => setTimeout(done, PATIENCE_MS, "late"));
  try {
    const first = await Promise.race([network, late]);
    if (first !== "late") return first;
    const old = await kept(request);
    if (!old) return await network;
    network.catch(() => tell("no"));
    await tell("no");
    return old;
  } catch (fault) {
    if (reached !== "no") tell("no");
    const old = await kept(request);
    if (old) return old;
    if (request.mode === "navigate") return (await caches.match(TOLD.offline)) || Response.error();
    throw fault;
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method === "POST" && ENDS.has(pathname)) event.waitUntil(caches.delete(PAGES));
  if (request.method !== "GET" || request.cache === "only-if-cached" || pathname.startsWith("/api/") || pathname === "/health/") return;
  event.respondWith(answerFor(request));
});
