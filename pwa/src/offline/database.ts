/** The page's own store, typed; every object store is made in one upgrade function. */
import { type DBSchema, type IDBPDatabase, openDB } from "idb";

/** One write that waits for the network. `seq` is the order in which things were done on this device. */
export type Waiting = {
  seq?: number;
  client_id: string;
  person_id: number;
  method: "POST" | "PUT";
  path: string;
  body: unknown;
  made_at: string;
};

/** A write that the server will never take, with its sentence: shown to the person, never dropped in silence. */
export type Refused = Waiting & { status: number; sentence: string };

/** An answer of the server that is kept for a person, so that it can be read with no network. */
export type Kept = { person_id: number; path: string; data: unknown; kept_at: number };

interface Schema extends DBSchema {
  outbox: { key: number; value: Waiting; indexes: { client_id: string } };
  refused: { key: string; value: Refused };
  answers: { key: string; value: { client_id: string; data: unknown; at: number } };
  kept: { key: [number, string]; value: Kept; indexes: { kept_at: number } };
  notes: { key: string; value: unknown };
}

export type Database = IDBPDatabase<Schema>;

const NAME = "counterpane";
const VERSION = 1;

let opened: Promise<Database> | null = null;

/** Open the store once; a tab that holds an older version lets go of it so that a newer one can upgrade. */
export function database(): Promise<Database> {
  opened ??= openDB<Schema>(NAME, VERSION, {
    upgrade,
    blocking: () => void forget(),
    terminated: () => void forget(),
  }).catch((error) => {
    opened = null;
    throw error;
  });
  return opened;
}

/** Whether this browser lets the page keep anything: some have no IndexedDB, some refuse it in private windows. */
export async function canKeep(): Promise<boolean> {
  if (!("indexedDB" in globalThis)) return false;
  try {
    await database();
    return true;
  } catch {
    return false;
  }
}

function upgrade(db: Database): void {
  const outbox = db.createObjectStore("outbox", { keyPath: "seq", autoIncrement: true });
  outbox.createIndex("client_id", "client_id", { unique: true });
  db.createObjectStore("refused", { keyPath: "client_id" });
  db.createObjectStore("answers", { keyPath: "client_id" });
  db.createObjectStore("kept", { keyPath: ["person_id", "path"] }).createIndex("kept_at", "kept_at");
  db.createObjectStore("notes");
}

/** Close the store; the next call opens it again. */
export async function forget(): Promise<void> {
  const closing = opened;
  opened = null;
  (await closing)?.close();
}
