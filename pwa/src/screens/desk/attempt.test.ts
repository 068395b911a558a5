import { expect, it } from "vitest";
import type { Drill, Step } from "../../api/types";
import { attemptBody, type Played } from "./attempt";

const DRILL = {
  piece: { id: 7 },
  patch: { id: "p2", first_measure: 3, last_measure: 4 },
} as unknown as Drill;
const STEP = { id: "right-slow", hands: "right" } as Step;
const PLAYED: Played = { startedAt: 1000, events: [[5, 0x90, 60, 80]], tempo: 66, source: "web-midi" };

it("an attempt says what was tried, from when, how long, and holds the raw events", () => {
  expect(attemptBody("id", DRILL, STEP, PLAYED, 31_000)).toMatchObject({
    client_id: "id",
    piece_id: 7,
    patch_id: "p2",
    step_id: "right-slow",
    passage: { first_measure: 3, last_measure: 4, hands: "right", tempo: 66 },
    started_at: "1970-01-01T00:00:01.000Z",
    seconds: 30,
    source: "web-midi",
    raw_events: [[5, 0x90, 60, 80]],
  });
});

it("a self-judged attempt holds the judgement and no events", () => {
  const judged: Played = { ...PLAYED, source: "self-judged", judgement: { notes: 3, rhythm: 2, flow: 1 } };
  const body = attemptBody("id", DRILL, STEP, judged, 2000);
  expect(body).toMatchObject({ raw_events: [], self_judgement: { notes: 3, rhythm: 2, flow: 1 } });
});

it("a clock set back gives no negative length", () => {
  expect(attemptBody("id", DRILL, STEP, PLAYED, 0).seconds).toBe(0);
});
