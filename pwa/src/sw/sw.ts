/// <reference lib="webworker" />
/**
 * The service worker: the page's own files, kept whole, and the piano's samples, kept once heard.
 *
 * It never touches /api: what people practise is kept by the page in IndexedDB (src/offline), where it can be
 * told apart by person and erased at sign-out. It waits until the page says that the user wants the update.
 */
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";
import { CacheFirst } from "workbox-strategies";

declare const self: ServiceWorkerGlobalScope;

const SOUND_CACHE = "sound";

cleanupOutdatedCaches();
precacheAndRoute(self.__WB_MANIFEST);
registerRoute(new NavigationRoute(createHandlerBoundToURL("index.html"), { denylist: [/^\/api\//] }));
registerRoute(({ url }) => /\.(mp3|ogg|wav)$/.test(url.pathname), new CacheFirst({ cacheName: SOUND_CACHE }));

// A page that was there before its first worker is served by it at once, so that it opens with no network.
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("message", (event) => {
  if (event.data === "update-now") void self.skipWaiting();
});
