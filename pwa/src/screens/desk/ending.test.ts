import { expect, it } from "vitest";
import { ending, type Progress } from "./ending";

const WHILE_PLAYING: Progress = {
  now: 10_000,
  musicAt: 2000,
  measureMs: 4000,
  lastEventAt: 9800,
  keysDown: 0,
  reachedEnd: false,
};

it.each<[string, Partial<Progress>, string]>([
  ["keys move: the try goes on", {}, "goes-on"],
  ["a pause for thought goes on", { lastEventAt: 4000 }, "goes-on"],
  ["a long silence ends it", { lastEventAt: 1000 }, "silent"],
  ["in quick pieces five seconds are a long silence", { lastEventAt: 4500, measureMs: 1000 }, "silent"],
  ["the last note just sounded: it may still be corrected", { lastEventAt: 9000, reachedEnd: true }, "goes-on"],
  ["a moment after the last note it is over", { lastEventAt: 8000, reachedEnd: true }, "finished"],
  ["a long last note is held: not yet over", { lastEventAt: 7000, reachedEnd: true, keysDown: 1 }, "goes-on"],
  [
    "a key that is stuck does not hold the try for ever",
    { now: 60_000, reachedEnd: true, keysDown: 1 },
    "finished",
  ],
  ["nothing played yet: there is time", { lastEventAt: null }, "goes-on"],
  ["nothing played for twenty seconds", { lastEventAt: null, now: 23_000 }, "never-began"],
])("%s", (_, part, expected) => {
  expect(ending({ ...WHILE_PLAYING, ...part })).toBe(expected);
});
