// The worker: assets from the cache, pages from the network, and where there is none, as they were last seen.
// VERSION and ASSETS stand before this text when it is served. Nothing of /v1 and no page for signing in is kept.

const SHELL = `shell-${VERSION}`, PAGES = "pages", PATIENCE = 4000;
const KEPT = /^\/$|^\/units\/[^/]+(\/visits\/form)?$/, FORM = /^(\/units\/[^/]+\/visits\/)[0-9a-f-]{36}$/;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELL).then((cache) => cache.addAll(ASSETS)));
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith("shell-") && name !== SHELL);
    await Promise.all(old.map((name) => caches.delete(name)));
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/assets/")) event.respondWith(asset(event.request));
  else if (event.request.mode === "navigate" && (KEPT.test(url.pathname) || FORM.test(url.pathname))) event.respondWith(page(event.request, url));
});

self.addEventListener("message", (event) => event.waitUntil(keepAll(event.data)));

async function asset(request) {
  const known = await caches.match(request);
  if (known) return known;
  const answer = await fetch(request);
  if (answer.ok) await (await caches.open(SHELL)).put(request, answer.clone());
  return answer;
}

// A page that was not kept is waited for as long as the browser waits. One with a query is another list, which is not kept.
async function page(request, url) {
  const form = FORM.exec(url.pathname);
  const kept = url.search ? undefined : await (await caches.open(PAGES)).match(form ? `${form[1]}form` : url.pathname);
  try {
    const answer = await fetch(request, kept ? { signal: AbortSignal.timeout(PATIENCE) } : {});
    if (answer.status === 401) await caches.delete(PAGES);
    if (KEPT.test(url.pathname) && !url.search) await put(url.pathname, answer.clone());
    if (answer.status < 500 || !kept) return answer;
  } catch { /* no connection: as it was last seen */ }
  return kept ?? (await caches.match("/offline"));
}

async function put(path, answer) {
  const whole = answer.status === 200 && answer.type === "basic" && !answer.redirected;
  if (whole && (answer.headers.get("Content-Type") ?? "").startsWith("text/html")) await (await caches.open(PAGES)).put(path, answer);
}

// Today's stops with their units, for one person; what was kept for another is dropped first.
async function keepAll({ writer, paths }) {
  let cache = await caches.open(PAGES);
  const owner = await (await cache.match("/writer"))?.text();
  if (owner !== writer) {
    await caches.delete(PAGES);
    cache = await caches.open(PAGES);
    await cache.put("/writer", new Response(writer));
  }
  for (const path of paths) {
    try {
      await put(new URL(path, location).pathname, await fetch(path));
    } catch { return; } // no connection any more
  }
}
