/** Who uses the page. Known again with no network, from what the last visit kept. */
import { computed, signal } from "@preact/signals";
import { ApiError, csrf, get, send } from "../api/client";
import { paths } from "../api/paths";
import type { Session } from "../api/types";
import { database } from "../offline/database";
import { forgetPages, keepFor } from "../offline/kept";
import { openFor } from "../offline/outbox";
import { forgetMark, noticeEviction } from "../offline/room";
import { speak } from "../strings/catalogue";

export const session = signal<Session | null>(null);
export const person = computed(() => session.value?.person ?? null);

/** True while the page runs on what was kept, because the server could not be reached when it opened. */
export const openedOffline = signal(false);

const KEPT = "session";

/** Find out who is here: ask the server, and where it cannot be reached, remember. Null: nobody is signed in. */
export async function restore(): Promise<Session | null> {
  try {
    await begin(await get<Session>(paths.session));
  } catch (error) {
    if (!(error instanceof ApiError)) throw error;
    const kept = error.offline ? await remembered() : null;
    openedOffline.value = kept !== null;
    if (kept) await begin(kept);
  }
  return session.value;
}

async function remembered(): Promise<Session | null> {
  return ((await (await database()).get("notes", KEPT)) as Session | undefined) ?? null;
}

async function begin(found: Session): Promise<void> {
  csrf.value = found.csrf;
  keepFor(found.person.id);
  await speak(found.person.language);
  session.value = found;
  await (await database()).put("notes", found, KEPT);
  await openFor(found.person.id);
  await noticeEviction();
}

/** Come in by a link's token, with a PIN where one was chosen. Fails with the server's sentence. */
export async function signInByLink(token: string, pin?: string): Promise<Session> {
  return enter(await send<Session>("POST", "/api/session/link", pin ? { token, pin } : { token }));
}

/** Come in with the teacher's passphrase. */
export async function signInByPassphrase(passphrase: string): Promise<Session> {
  return enter(await send<Session>("POST", "/api/session/passphrase", { passphrase }));
}

async function enter(found: Session): Promise<Session> {
  await begin(found);
  openedOffline.value = false;
  return found;
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
  await openFor(null);
  const db = await database();
  await db.delete("notes", KEPT);
  await forgetMark();
  if (leaving) await forgetPages(leaving.person.id);
}
