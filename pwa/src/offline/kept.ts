/** Answers of the server, kept by person, so that today's practice can be read with no network. */
import { signal } from "@preact/signals";
import { useEffect, useMemo } from "preact/hooks";
import { ApiError, get } from "../api/client";
import { database } from "./database";
import { makingRoom } from "./room";

let owner = 0;

/** From now on answers are kept for, and read from, this person's pages. */
export function keepFor(person: number): void {
  owner = person;
}

/** Pages that have not been asked for in this time are let go. */
const LIFETIME_MS = 30 * 24 * 3_600_000;

/** What is kept of `path`, or undefined. */
export async function recall<T>(path: string): Promise<T | undefined> {
  return (await (await database()).get("kept", [owner, path]))?.data as T | undefined;
}

/** What is kept of some address that begins with `prefix`, or undefined. */
async function recallLike<T>(prefix: string): Promise<T | undefined> {
  const range = IDBKeyRange.bound([owner, prefix], [owner, `${prefix}\uffff`]);
  return (await (await database()).get("kept", range))?.data as T | undefined;
}

/** Keep what the server answered at `path`. */
export async function keep(path: string, data: unknown): Promise<void> {
  const kept = { person_id: owner, path, data, kept_at: Date.now() };
  await makingRoom(async () => void (await (await database()).put("kept", kept)));
}

/**
 * Ask the server and keep the answer. With no network answer from what is kept at `path`, or at some address that
 * begins with `standIn`; fail with the sentence where there is neither.
 */
export async function read<T>(path: string, standIn?: string): Promise<{ data: T; stale: boolean }> {
  try {
    const data = await get<T>(path);
    await keep(path, data);
    return { data, stale: false };
  } catch (error) {
    if (!(error instanceof ApiError && error.offline)) throw error;
    const kept = (await recall<T>(path)) ?? (standIn ? await recallLike<T>(standIn) : undefined);
    if (kept === undefined) throw error;
    return { data: kept, stale: true };
  }
}

/** What a screen sees of one address of the server. `stale`: kept from earlier, the server has not answered yet. */
export type Resource<T> = {
  readonly data: T | undefined;
  readonly error: ApiError | undefined;
  readonly stale: boolean;
  readonly reload: () => Promise<void>;
};

/**
 * Show what is kept at once, then what the server says. `path` null asks nothing. With no network something kept
 * whose address begins with `standIn` does as well.
 */
export function useKept<T>(path: string | null, standIn?: string): Resource<T> {
  const state = useMemo(
    () => signal<Omit<Resource<T>, "reload">>({ data: undefined, error: undefined, stale: true }),
    [path],
  );
  const load = useMemo(() => loader(path, state, standIn), [path]);
  useEffect(() => {
    void load();
  }, [load]);
  return { ...state.value, reload: load };
}

type State<T> = { value: Omit<Resource<T>, "reload"> };

function loader<T>(path: string | null, state: State<T>, standIn?: string): () => Promise<void> {
  return async () => {
    if (path === null) return;
    const before = state.value.data ?? (await recall<T>(path));
    if (before !== undefined) state.value = { data: before, error: undefined, stale: true };
    try {
      state.value = { ...(await read<T>(path, standIn)), error: undefined };
    } catch (error) {
      if (!(error instanceof ApiError)) throw error;
      state.value = { data: undefined, error, stale: true };
    }
  };
}

/**
 * Fetch addresses one after the other for later, in moments in which the page has nothing else to do. What is
 * missing is let go; false where the network ended before the list did.
 */
export async function pack(paths: readonly string[]): Promise<boolean> {
  for (const path of paths) {
    await spareMoment();
    try {
      await keep(path, await get(path));
    } catch (error) {
      if (!(error instanceof ApiError)) throw error;
      if (error.offline) return false;
    }
  }
  return true;
}

function spareMoment(): Promise<unknown> {
  return new Promise((go) => ("requestIdleCallback" in globalThis ? requestIdleCallback(go) : setTimeout(go, 50)));
}

/** Let go of pages that nobody has asked for in a month. */
export async function dropOld(): Promise<void> {
  const db = await database();
  const old = await db.getAllKeysFromIndex("kept", "kept_at", IDBKeyRange.upperBound(Date.now() - LIFETIME_MS));
  for (const key of old) await db.delete("kept", key);
}

/** Erase every page kept for a person, at sign-out. */
export async function forgetPages(person: number): Promise<void> {
  const db = await database();
  for (const key of await db.getAllKeys("kept")) if (key[0] === person) await db.delete("kept", key);
}
