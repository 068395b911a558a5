import { beforeEach, expect, it, vi } from "vitest";
import { database, forget } from "./database";
import { dropOld, forgetPages, keep, keepFor, pack, read, recall } from "./kept";

const answering = (data: unknown) => vi.fn(async () => Response.json(data));
const unreachable = () => vi.fn(async () => Promise.reject(new TypeError("network")));

beforeEach(async () => {
  await forget();
  keepFor(1);
});

it("what the server answered is read again without a network", async () => {
  vi.stubGlobal("fetch", answering({ minutes: 20 }));
  expect(await read("/api/today")).toEqual({ data: { minutes: 20 }, stale: false });
  vi.stubGlobal("fetch", unreachable());
  expect(await read("/api/today")).toEqual({ data: { minutes: 20 }, stale: true });
});

it("what was never fetched fails without a network, with a sentence", async () => {
  vi.stubGlobal("fetch", unreachable());
  await expect(read("/api/today")).rejects.toThrow(/cannot be reached/);
});

it("the same music at another width stands in for what was never fetched", async () => {
  await keep("/api/pieces/3/engraving?first=1&hands=both&last=2&size=100&width=340", { svgs: ["narrow"] });
  vi.stubGlobal("fetch", unreachable());
  const wide = "/api/pieces/3/engraving?first=1&hands=both&last=2&size=100&width=780";
  const like = "/api/pieces/3/engraving?first=1&hands=both&last=2";
  expect(await read(wide, like)).toEqual({ data: { svgs: ["narrow"] }, stale: true });
});

it("what the server refuses is not answered from what is kept", async () => {
  await keep("/api/students/2/log", { weeks: [] });
  const refusing = vi.fn(async () => Response.json({ error: "This is another family." }, { status: 403 }));
  vi.stubGlobal("fetch", refusing);
  await expect(read("/api/students/2/log")).rejects.toThrow("This is another family.");
});

it("one person's pages are not shown to another, and go at sign-out", async () => {
  await keep("/api/today", { minutes: 20 });
  keepFor(2);
  expect(await recall("/api/today")).toBeUndefined();
  await keep("/api/today", { minutes: 10 });
  await forgetPages(1);
  expect(await recall("/api/today")).toEqual({ minutes: 10 });
  keepFor(1);
  expect(await recall("/api/today")).toBeUndefined();
});

it("packing goes on past what is missing, and stops where the network does", async () => {
  const asked: string[] = [];
  vi.stubGlobal("fetch", async (path: string) => {
    asked.push(path);
    if (path === "/b") return Response.json({ error: "There is none." }, { status: 404 });
    if (path === "/c") throw new TypeError("network");
    return Response.json({});
  });
  expect(await pack(["/a", "/b", "/c", "/d"])).toBe(false);
  expect(asked).toEqual(["/a", "/b", "/c"]);
});

it("pages that nobody asked for in a month are let go", async () => {
  const db = await database();
  await db.put("kept", { person_id: 1, path: "/old", data: 1, kept_at: Date.now() - 31 * 86_400_000 });
  await keep("/new", 2);
  await dropOld();
  expect(await db.getAllKeys("kept")).toEqual([[1, "/new"]]);
});
