/** Gives every unit test a fresh IndexedDB: the real algorithm in memory, not a mock of ours. */
import { IDBFactory } from "fake-indexeddb";
import "fake-indexeddb/auto";
import { beforeEach } from "vitest";

beforeEach(() => {
  globalThis.indexedDB = new IDBFactory();
});
