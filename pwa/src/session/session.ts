/** Who uses the page. Known again with no network, from what the last visit kept. */
import { computed, effect, signal } from "@preact/signals";
import { ApiError, csrf, get, send, sessionEnded } from "../api/client";
import { paths } from "../api/paths";
import type { Session } from "../api/types";
import { database } from "../offline/database";
import { forgetPages, keepFor } from "../offline/kept";
import { openFor } from "../offline/outbox";
import { forgetMark, noticeEviction } from "../offline/room";
import { speak } from "../strings/catalogue";

export const session = signal<Session | null>(null);
export const person = computed(() => session.value?.person ?? null);

// The session ended elsewhere (a link revoked, signed out on another tab): back to the door, nothing kept is lost.
effect(() => {
  if (sessionEnded.value) session.value = null;
});

/** Somebody was signed in on this page before, so that the door can say what happened. */
export const wasHere = signal(false);

const KEPT = "session";

/** Find out who is here: ask the server, and where it cannot be reached, remember. Null: nobody is signed in. */
export async function restore(): Promise<Session | null> {
  try {
    await begin(await get<Session>(paths.session));
  } catch (error) {
    if (!(error instanceof ApiError)) throw error;
    const kept = error.offline ? await remembered() : null;
    if (kept) await begin(kept);
  }
  return session.value;
}

async function remembered(): Promise<Session | null> {
  return ((await (await database()).get("notes", KEPT)) as Session | undefined) ?? null;
}

async function begin(found: Session): Promise<Session> {
  csrf.value = found.csrf;
  sessionEnded.value = false;
  keepFor(found.person.id);
  await speak(found.person.language);
  await (await database()).put("notes", found, KEPT);
  await openFor(found.person.id);
  await noticeEviction();
  // Last, since the screens come with it: whatever they do finds everything in place.
  session.value = found;
  wasHere.value = true;
  return found;
}

/** Come in by a link's token, with a PIN where one was chosen. Fails with the server's sentence. */
export async function signInByLink(token: string, pin?: string): Promise<Session> {
  return begin(await send<Session>("POST", "/api/session/link", pin ? { token, pin } : { token }));
}

/** Come in with the teacher's passphrase. */
export async function signInByPassphrase(passphrase: string): Promise<Session> {
  return begin(await send<Session>("POST", "/api/session/passphrase", { passphrase }));
}

/** Choose the PIN that further devices will be asked for. */
export async function choosePin(pin: string): Promise<void> {
  await send("POST", "/api/session/pin", { pin });
  change({ pin: "set" });
}

/** The cautions have been read; with no network they are simply shown again another day. */
export async function careSeen(): Promise<void> {
  change({ care_seen: true });
  await send("POST", "/api/session/care-seen").catch((error) => {
    if (!(error instanceof ApiError && error.offline)) throw error;
  });
}

function change(part: Partial<Session>): void {
  if (session.value) session.value = { ...session.value, ...part };
}

/** Leave this device: what was kept for reading is erased; writes that still wait stay until they have arrived. */
export async function signOut(): Promise<void> {
  const leaving = session.value;
  await send("DELETE", paths.session);
  session.value = null;
  wasHere.value = false;
  await openFor(null);
  const db = await database();
  await db.delete("notes", KEPT);
  await forgetMark();
  if (leaving) await forgetPages(leaving.person.id);
}
