// Keeps the pages themselves, so that a tablet out of reach of the server starts into a page that
// says so and keeps looking. Nothing the server says is ever kept: old positions must not come
// back as new ones.
const VERSION = "@VERSION@";
const FILES = ["@FILES@"];

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(VERSION)
      .then((cache) => cache.addAll(FILES))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) =>
        Promise.all(names.filter((name) => name !== VERSION).map((name) => caches.delete(name))),
      )
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname.startsWith("/assets/")) {
    event.respondWith(caches.match(event.request).then((kept) => kept ?? fetch(event.request)));
  } else if (event.request.mode === "navigate") {
    const page = url.pathname.startsWith("/phone") ? "/phone.html" : "/index.html";
    event.respondWith(fetch(event.request).catch(() => caches.match(page)));
  }
});
