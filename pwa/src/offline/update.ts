/**
 * A newer page is taken when the user says so, and never in the middle of a try.
 *
 * The worker (src/sw/sw.ts) waits until `updateNow`. When it takes over, every tab comes back on the newer page; a
 * tab in which something is under way does so when that has ended.
 */
import { computed, effect, signal } from "@preact/signals";

const waiting = signal<ServiceWorker | null>(null);
const takenOver = signal(false);
const holds = signal(0);

/** True while a newer page can be taken: it is there, and nothing is under way. */
export const updateReady = computed(() => waiting.value !== null && holds.value === 0);

/** A try begins: no update is offered until the returned function is called. */
export function holdUpdates(): () => void {
  holds.value += 1;
  let held = true;
  return () => {
    if (held) holds.value -= 1;
    held = false;
  };
}

/** Take the newer page; does nothing while something is under way. */
export function updateNow(): void {
  if (updateReady.value) waiting.value?.postMessage("update-now");
}

const CHECK_EVERY_MS = 3_600_000;

/** Register the worker and look for a newer page once an hour. A browser without workers has the page online only. */
export async function startUpdates(): Promise<void> {
  const workers = navigator.serviceWorker as ServiceWorkerContainer | undefined;
  if (!workers || !import.meta.env.PROD) return;
  comeBackWhenTakenOver(workers);
  try {
    const registration = await workers.register("/sw.js");
    watch(registration, workers);
    setInterval(() => void registration.update().catch(() => undefined), CHECK_EVERY_MS);
  } catch {
    // Private windows refuse workers; the page works all the same, with a network.
  }
}

function watch(registration: ServiceWorkerRegistration, workers: ServiceWorkerContainer): void {
  const look = () => {
    waiting.value = workers.controller ? registration.waiting : null;
  };
  const watchInstalling = () => registration.installing?.addEventListener("statechange", look);
  look();
  // The browser may have found a newer page by itself before anybody listened.
  watchInstalling();
  registration.addEventListener("updatefound", watchInstalling);
}

/** The first worker ever takes over a page that is already its own version; only a later one needs a new page. */
function comeBackWhenTakenOver(workers: ServiceWorkerContainer): void {
  let served = workers.controller !== null;
  workers.addEventListener("controllerchange", () => {
    takenOver.value = served;
    served = true;
  });
  effect(() => {
    if (takenOver.value && holds.value === 0) location.reload();
  });
}
