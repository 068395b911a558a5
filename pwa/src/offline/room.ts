/** Room on the device: what is done when there is none, and what the person is told. */
import { signal } from "@preact/signals";
import { database } from "./database";

export type Trouble = "full" | "evicted" | "none";

/** "full": nothing more can be kept. "evicted": the browser threw away what was kept here. */
export const roomTrouble = signal<Trouble>("none");

/** Do a write to the store; where it is full, give up pages kept for reading and try once more. False: no room. */
export async function makingRoom(write: () => Promise<void>): Promise<boolean> {
  try {
    await write();
  } catch (error) {
    if (!isFull(error)) throw error;
    if (!(await tryAgainWithLess(write))) {
      roomTrouble.value = "full";
      return false;
    }
  }
  if (roomTrouble.value === "full") roomTrouble.value = "none";
  return true;
}

async function tryAgainWithLess(write: () => Promise<void>): Promise<boolean> {
  try {
    await (await database()).clear("kept");
    await write();
    return true;
  } catch (error) {
    if (!isFull(error)) throw error;
    return false;
  }
}

function isFull(error: unknown): boolean {
  return error instanceof DOMException && error.name === "QuotaExceededError";
}

/** Ask the browser not to evict what is kept. Asked with the first thing that somebody did, when it matters to them. */
export async function askToPersist(): Promise<boolean> {
  const storage = globalThis.navigator?.storage;
  if (!storage?.persist) return false;
  return (await storage.persisted()) || (await storage.persist());
}

const MARK = "kept-here";

/**
 * Notice an eviction: a cookie outlives the store when a browser clears it for room. The store's own mark is
 * written with the cookie; a cookie without the mark means that the store was emptied behind our back.
 */
export async function noticeEviction(): Promise<void> {
  const db = await database();
  const before = document.cookie.split("; ").includes(`${MARK}=1`);
  if (before && !(await db.get("notes", MARK))) roomTrouble.value = "evicted";
  await makingRoom(async () => void (await db.put("notes", true, MARK)));
  const secure = location.protocol === "https:" ? "; Secure" : "";
  // biome-ignore lint/suspicious/noDocumentCookie: the Cookie Store API is missing in two of the three engines.
  document.cookie = `${MARK}=1; Max-Age=34560000; Path=/; SameSite=Strict${secure}`;
}

/** The cookie goes with the store when the person signs out and everything is cleared on purpose. */
export async function forgetMark(): Promise<void> {
  // biome-ignore lint/suspicious/noDocumentCookie: the Cookie Store API is missing in two of the three engines.
  document.cookie = `${MARK}=1; Max-Age=0; Path=/; SameSite=Strict`;
  await (await database()).delete("notes", MARK);
}
