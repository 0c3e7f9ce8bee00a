// Beside the one file on a web server: keeps what the browser fetched, for when there is no network.
'use strict';
self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));
self.addEventListener('message', ({ data, ports: [done] }) => {
  caches.open('oilwheel').then((kept) => kept.addAll(data)).then(() => done.postMessage('kept'), (error) => done.postMessage(String(error)));
});
self.addEventListener('fetch', (event) => {
  event.respondWith(fetch(event.request).catch(async () => (await caches.match(event.request, { ignoreSearch: true })) ?? Response.error()));
});
