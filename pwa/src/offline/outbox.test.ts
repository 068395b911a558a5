import { beforeEach, describe, expect, it, vi } from "vitest";
import { database, forget } from "./database";
import { deliver, dismissRefused, openFor, post, refusedWrites, waitingCount } from "./outbox";
import { roomTrouble } from "./room";

/** A server that keeps what arrives, by its client id, and answers as the real one does. */
class Server {
  readonly arrived: string[] = [];
  reachable = true;
  loseAnswers = 0;
  readonly answers = new Map<string, { status: number; body: object }>();

  readonly fetch = async (path: string, request: RequestInit): Promise<Response> => {
    if (!this.reachable) throw new TypeError("network");
    if (request.method === "GET") return Response.json({ csrf: "fresh" });
    const { client_id } = JSON.parse(String(request.body)) as { client_id: string };
    const planned = this.answers.get(client_id);
    if (planned) return Response.json(planned.body, { status: planned.status });
    if (!this.arrived.includes(client_id)) this.arrived.push(client_id);
    if (this.loseAnswers > 0) {
      this.loseAnswers -= 1;
      throw new TypeError("the answer was lost");
    }
    return Response.json({ path, client_id });
  };
}

const write = (client_id: string) => ({
  client_id,
  method: "POST" as const,
  path: "/api/attempts",
  body: { client_id },
});

let server: Server;

beforeEach(async () => {
  await forget();
  server = new Server();
  vi.stubGlobal("fetch", server.fetch);
  await openFor(1);
});

describe("with a network", () => {
  it("a write arrives at once and brings the server's answer", async () => {
    expect(await post(write("a"))).toEqual({
      state: "arrived",
      answer: { path: "/api/attempts", client_id: "a" },
    });
    expect(waitingCount.value).toBe(0);
  });

  it("a write whose answer was lost is sent again and counts once", async () => {
    server.loseAnswers = 1;
    expect(await post(write("a"))).toEqual({ state: "waiting" });
    await deliver();
    expect(server.arrived).toEqual(["a"]);
    expect(waitingCount.value).toBe(0);
  });

  it("a write that the server will never take is put aside with its sentence, and the rest goes on", async () => {
    server.reachable = false;
    for (const id of ["a", "bad", "c"]) await post(write(id));
    server.reachable = true;
    server.answers.set("bad", { status: 422, body: { error: "Measure 99 is not in the piece." } });
    await deliver();
    expect(server.arrived).toEqual(["a", "c"]);
    expect(refusedWrites.value.map((refused) => refused.sentence)).toEqual(["Measure 99 is not in the piece."]);
    await dismissRefused("bad");
    await vi.waitFor(() => expect(refusedWrites.value).toEqual([]));
  });

  it.each([401, 429, 500, 503])("a write waits after the status %i, in its place", async (status) => {
    server.answers.set("a", { status, body: { error: "Not now." } });
    expect(await post(write("a"))).toEqual({ state: "waiting" });
    expect(await post(write("b"))).toEqual({ state: "waiting" });
    server.answers.clear();
    await deliver();
    expect(server.arrived).toEqual(["a", "b"]);
  });

  it("a token that another tab renewed is fetched, and the write sent again", async () => {
    server.answers.set("a", { status: 403, body: { error: "The page is out of date.", code: "csrf" } });
    const renewing = vi.fn(async (path: string, request: RequestInit) => {
      if (request.method === "GET") server.answers.clear();
      return server.fetch(path, request);
    });
    vi.stubGlobal("fetch", renewing);
    expect((await post(write("a"))).state).toBe("arrived");
  });
});

describe("without a network", () => {
  it("writes wait, and arrive in the order in which they were made", async () => {
    server.reachable = false;
    for (const id of ["a", "b", "c"]) expect(await post(write(id))).toEqual({ state: "waiting" });
    expect(waitingCount.value).toBe(3);
    server.reachable = true;
    await deliver();
    expect(server.arrived).toEqual(["a", "b", "c"]);
  });

  it("a write that is made twice under one id waits once", async () => {
    server.reachable = false;
    await post(write("a"));
    await post(write("a"));
    expect(waitingCount.value).toBe(1);
  });

  it("what waits is still there after the page was closed", async () => {
    server.reachable = false;
    await post(write("a"));
    await forget();
    server.reachable = true;
    await openFor(1);
    await vi.waitFor(() => expect(server.arrived).toEqual(["a"]));
  });

  it("what one person did is never sent in another person's name", async () => {
    server.reachable = false;
    await post(write("a"));
    server.reachable = true;
    await openFor(2);
    await post(write("b"));
    expect(server.arrived).toEqual(["b"]);
    await openFor(1);
    await vi.waitFor(() => expect(server.arrived).toEqual(["b", "a"]));
  });
});

describe("with no room on the device", () => {
  const adding = () => vi.spyOn(IDBObjectStore.prototype, "add");
  const full = () => {
    throw new DOMException("no room", "QuotaExceededError");
  };

  it("a write is sent at once, and the person is told", async () => {
    const spy = adding().mockImplementation(full);
    expect((await post(write("a"))).state).toBe("arrived");
    expect(roomTrouble.value).toBe("full");
    spy.mockRestore();
  });

  it("pages kept for reading make room for a write", async () => {
    const db = await database();
    await db.put("kept", { person_id: 1, path: "/api/today", data: {}, kept_at: 0 });
    adding().mockImplementationOnce(full);
    expect((await post(write("a"))).state).toBe("arrived");
    expect(await db.count("kept")).toBe(0);
    expect(roomTrouble.value).toBe("none");
  });
});
