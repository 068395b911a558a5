/**
 * Writes that must not be lost: attempts, answers to puzzles, decisions.
 *
 * Contract. `post` keeps the write in IndexedDB before anything is sent, under a client-made id; it resolves with
 * the server's answer, or with "waiting" where the network is missing. Waiting writes are delivered in the order
 * in which they were made, by one tab at a time (Web Locks). A write leaves the store only after the server
 * answered it, so a crash in between sends it again under the same id, and the server, which knows the id, adds
 * nothing. A write that the server will never take is put aside with its sentence and does not hold up the rest.
 */
import { signal } from "@preact/signals";
import { ApiError, renewToken, send } from "../api/client";
import { database, type Refused, type Waiting } from "./database";
import { askToPersist, makingRoom } from "./room";

export type Write = Omit<Waiting, "seq" | "made_at" | "person_id">;
export type Outcome<T> =
  | { state: "arrived"; answer: T }
  | { state: "waiting" }
  | { state: "refused"; sentence: string };

/** How many writes of this person wait on this device, and which were refused. */
export const waitingCount = signal(0);
export const refusedWrites = signal<readonly Refused[]>([]);

const LOCK = "counterpane-outbox";
const news = typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel("counterpane-outbox");
let owner: number | null = null;

/** From now on the outbox delivers for this person alone; null stops it (signed out). */
export async function openFor(person: number | null): Promise<void> {
  owner = person;
  await count();
  if (person !== null) void deliver();
}

/** Keep a write, try to deliver it at once, and say what became of it. */
export async function post<T>(write: Write): Promise<Outcome<T>> {
  const person = owner;
  if (person === null) throw new Error("The outbox was used before anyone signed in.");
  const waiting: Waiting = { ...write, person_id: person, made_at: new Date().toISOString() };
  const kept = await makingRoom(() => keep(waiting));
  if (!kept) return sendUnkept<T>(waiting);
  void askToPersist();
  announce();
  await deliver();
  return outcome<T>(write.client_id);
}

async function keep(waiting: Waiting): Promise<void> {
  const db = await database();
  const known = await db.getFromIndex("outbox", "client_id", waiting.client_id);
  if (!known) await db.add("outbox", waiting);
}

/** With no room on the device the write lives in this page only: send it now, or tell the caller that it waits. */
async function sendUnkept<T>(waiting: Waiting): Promise<Outcome<T>> {
  try {
    return { state: "arrived", answer: await send<T>(waiting.method, waiting.path, waiting.body) };
  } catch (error) {
    if (error instanceof ApiError && isFinal(error)) return { state: "refused", sentence: error.message };
    throw error;
  }
}

async function outcome<T>(client_id: string): Promise<Outcome<T>> {
  const db = await database();
  const answered = await db.get("answers", client_id);
  if (answered) return { state: "arrived", answer: answered.data as T };
  const refused = await db.get("refused", client_id);
  return refused ? { state: "refused", sentence: refused.sentence } : { state: "waiting" };
}

/** Deliver what waits, in order, until all has arrived or the network (or the session) is gone. */
export async function deliver(): Promise<void> {
  if (owner === null) return;
  await exclusively(async () => {
    while (await deliverNext()) announce();
  });
  await count();
}

/** Without Web Locks two tabs may send the same write; its id still makes it count once. */
async function exclusively(work: () => Promise<void>): Promise<void> {
  const locks = globalThis.navigator?.locks;
  await (locks ? locks.request(LOCK, work) : work());
}

/** Send the oldest waiting write of this person; false where there is none or it has to wait. */
async function deliverNext(): Promise<boolean> {
  const next = await oldest();
  if (!next) return false;
  try {
    await settle(next, await sendRenewing(next));
    return true;
  } catch (error) {
    if (!(error instanceof ApiError) || !isFinal(error)) return false;
    await putAside(next, error);
    return true;
  }
}

/** A session that was renewed in another tab has another token: fetch it, and try once more. */
async function sendRenewing(write: Waiting): Promise<unknown> {
  try {
    return await send<unknown>(write.method, write.path, write.body);
  } catch (error) {
    if (!(error instanceof ApiError && error.code === "csrf")) throw error;
    await renewToken();
    return send<unknown>(write.method, write.path, write.body);
  }
}

async function oldest(): Promise<Waiting | undefined> {
  const db = await database();
  for (let cursor = await db.transaction("outbox").store.openCursor(); cursor; cursor = await cursor.continue()) {
    if (cursor.value.person_id === owner) return cursor.value;
  }
  return undefined;
}

/** Errors that another try will not mend. 401 waits for sign-in, 408 and 429 for time. */
function isFinal(error: ApiError): boolean {
  return error.status >= 400 && error.status < 500 && ![401, 408, 429].includes(error.status);
}

async function settle(write: Waiting, data: unknown): Promise<void> {
  const db = await database();
  const change = db.transaction(["outbox", "answers"], "readwrite");
  await change.objectStore("answers").put({ client_id: write.client_id, data, at: Date.now() });
  await change.objectStore("outbox").delete(write.seq as number);
  await change.done;
}

async function putAside(write: Waiting, error: ApiError): Promise<void> {
  const db = await database();
  const change = db.transaction(["outbox", "refused"], "readwrite");
  await change.objectStore("refused").put({ ...write, status: error.status, sentence: error.message });
  await change.objectStore("outbox").delete(write.seq as number);
  await change.done;
}

/** The person has read the sentence about a refused write and lets go of it. */
export async function dismissRefused(client_id: string): Promise<void> {
  await (await database()).delete("refused", client_id);
  announce();
}

function announce(): void {
  news?.postMessage("changed");
  void count();
}

async function count(): Promise<void> {
  const db = await database();
  const mine = (write: { person_id: number }) => write.person_id === owner;
  waitingCount.value = (await db.getAll("outbox")).filter(mine).length;
  refusedWrites.value = (await db.getAll("refused")).filter(mine);
}

/** Answers are kept for a day, for pages that ask late. */
const ANSWER_LIFETIME_MS = 24 * 3_600_000;

/** Deliver when the network returns, when the page is looked at again, and every half minute while it waits. */
export function startOutbox(): () => void {
  const later = () => void deliver();
  const seen = () => document.visibilityState === "visible" && later();
  const timer = setInterval(() => waitingCount.value > 0 && later(), 30_000);
  addEventListener("online", later);
  document.addEventListener("visibilitychange", seen);
  news?.addEventListener("message", () => void count());
  void dropOldAnswers();
  return () => {
    clearInterval(timer);
    removeEventListener("online", later);
    document.removeEventListener("visibilitychange", seen);
  };
}

async function dropOldAnswers(): Promise<void> {
  const db = await database();
  for (const answer of await db.getAll("answers")) {
    if (answer.at < Date.now() - ANSWER_LIFETIME_MS) await db.delete("answers", answer.client_id);
  }
}
