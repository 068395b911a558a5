import { expect, it } from "vitest";
import type { AttemptPage } from "../../api/types";
import type { RawEvent } from "../../midi/messages";
import { againstClicks } from "./clicks";

type Report = NonNullable<AttemptPage["assessment"]>;

const BEAT_MS = 600;
const due = (notes: number) => new Map(Array.from({ length: notes }, (_, i) => [`n${i}`, 5000 + i * BEAT_MS]));

/** One key for each offset from its click, as written. */
function played(offsets: readonly number[]): { report: Report; events: RawEvent[] } {
  const events = offsets.map((ms, i): RawEvent => [5000 + i * BEAT_MS + ms, 0x90, 60 + i, 80]);
  const heard = offsets.map((_, event) => ({ event, note: `n${event}`, status: "as_written", run: 0 }));
  return { report: { events: heard, jumps: [] } as unknown as Report, events };
}

function against(offsets: readonly number[], latency = 0) {
  const { report, events } = played(offsets);
  return againstClicks(report, events, due(offsets.length), BEAT_MS, latency);
}

it.each([
  ["with the clicks", [5, -10, 12, 0, -8, 20, 3, -15], "together"],
  ["before the clicks", [-70, -80, -60, -90, -75, -66, -84, -71], "ahead"],
  ["after the clicks", [70, 80, 60, 90, 75, 66, 84, 71], "behind"],
  ["seven notes", [0, 0, 0, 0, 0, 0, 0], null],
  ["on through every stop", [0, 0, 400, 800, 1200, 1600, 2000, 2400, 2800, 3200], null],
])("played %s", (_, offsets, expected) => {
  expect(against(offsets)).toBe(expected);
});

it("what the device adds is taken off", () => {
  expect(against(Array(8).fill(150), 150)).toBe("together");
  expect(against(Array(8).fill(150), 60)).toBe("behind");
});
