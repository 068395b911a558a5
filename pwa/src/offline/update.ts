/**
 * A newer page is taken when the user says so, and never in the middle of a try.
 *
 * The worker waits (src/sw/sw.ts) until `updateNow`; a screen that must not be interrupted holds `busy`.
 */

import { registerSW } from "virtual:pwa-register";
import { computed, signal } from "@preact/signals";

const waiting = signal(false);
const holds = signal(0);
let takeOver: (() => Promise<void>) | null = null;

/** True while a newer page can be taken: it is there, and nothing is under way. */
export const updateReady = computed(() => waiting.value && holds.value === 0);

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
  if (updateReady.value) void takeOver?.();
}

const CHECK_EVERY_MS = 3_600_000;

/** Register the worker and look for a newer page once an hour. */
export function startUpdates(): void {
  const update = registerSW({
    onNeedRefresh: () => {
      waiting.value = true;
    },
    onRegisteredSW: (_, registration) => {
      if (registration) setInterval(() => void registration.update().catch(() => undefined), CHECK_EVERY_MS);
    },
  });
  takeOver = () => update(true);
}
