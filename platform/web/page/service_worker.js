// service_worker.js: the whole app in a cache of its own version; the network is asked for nothing
// else. build.sh puts in the version and the list of files.
'use strict';

const VERSION = '@VERSION@';
const FILES = [/*@FILES@*/];
const CACHE = 'adret-' + VERSION;

// The same on every answer: nothing from elsewhere, and the isolation that threads need.
function guarded(response) {
  const headers = new Headers(response.headers);
  headers.set('Cross-Origin-Opener-Policy', 'same-origin');
  headers.set('Cross-Origin-Embedder-Policy', 'require-corp');
  headers.set('Cross-Origin-Resource-Policy', 'same-origin');
  return new Response(response.body, {status: response.status, statusText: response.statusText, headers});
}

self.addEventListener('install', (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    // Kept with their headers, so that they can be answered as they are: only such an answer lets
    // the browser keep the compiled program beside it.
    await Promise.all(FILES.map(async (file) => {
      const response = await fetch(new Request(file, {cache: 'no-cache'}));
      if (!response.ok) throw new Error(file + ' ' + response.status);
      await cache.put(file, guarded(response));
    }));
  })());
});

// A new version waits here until the page asks for it.
self.addEventListener('message', (event) => {
  if (event.data === 'use') self.skipWaiting();
});

self.addEventListener('activate', (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys())
      if (name.startsWith('adret-') && name !== CACHE) await caches.delete(name);
    await self.clients.claim();
  })());
});

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  // A site file handed over by another app: kept for the page, which asks for it when it has started.
  if (url.origin === self.location.origin && event.request.method === 'POST' && url.pathname.endsWith('/shared')) {
    event.respondWith((async () => {
      const cache = await caches.open('shared');
      for (const file of (await event.request.formData()).getAll('file'))
        await cache.put('shared/' + encodeURIComponent(file.name), new Response(file));
      return Response.redirect('./', 303);
    })());
    return;
  }
  if (url.origin !== self.location.origin || event.request.method !== 'GET') {
    event.respondWith(Response.error());
    return;
  }
  // Only the app's own page is answered for: what else is opened here (an authority) is the server's.
  const page = new URL('./', self.location).pathname;
  if (event.request.mode === 'navigate' && url.pathname !== page && url.pathname !== page + 'index.html') return;
  event.respondWith((async () => {
    const cache = await caches.open(CACHE);
    const path = event.request.mode === 'navigate' ? './' : event.request;
    const kept = await cache.match(path, {ignoreSearch: true});
    return kept || guarded(await fetch(event.request));
  })());
});
