import { afterEach, expect, it } from "vitest";
import { keepLatency, latencyMs, loopLatency, median, soundLagMs } from "./latency";

const CLICKS = Array.from({ length: 8 }, (_, i) => 1000 + 800 * i);
const late = (...offsets: number[]) => offsets.flatMap((ms, i) => [(CLICKS[i] as number) + ms]);

afterEach(() => keepLatency(null));

it.each([
  ["all taps the same", late(90, 90, 90, 90, 90, 90, 90, 90), 90],
  ["taps as uneven as people's", late(60, 85, 110, 95, 70, 120, 90, 105), 93],
  ["one tap far off", late(80, 84, 88, 92, 480, 96, 100, 86), 90],
  ["a click missed", late(100, 104, 96).concat(late(0, 0, 0, 0, 102, 98, 101, 99).slice(4)), 100],
  ["taps before the clicks", late(-40, -30, -37, -45, -20, -38, -33, -36), -36],
  ["loudspeakers by radio", late(300, 310, 290, 305, 295, 320, 280, 300), 300],
])("the median is the latency: %s", (_, taps, expected) => {
  expect(loopLatency(CLICKS, taps)).toEqual({ state: "measured", ms: expected });
});

it.each([
  ["no taps", []],
  ["five taps", late(50, 50, 50, 50, 50)],
  ["taps while no click sounds", late(0, 0, 0, 0, 0, 0, 0, 0).map((ms) => ms + 20_000)],
])("too few are refused: %s", (_, taps) => {
  expect(loopLatency(CLICKS, taps)).toEqual({ state: "too-few" });
});

it("taps that follow nothing are refused", () => {
  expect(loopLatency(CLICKS, late(-200, 300, -120, 410, 20, 150, -60, 240))).toEqual({ state: "scattered" });
});

it.each([
  [[3], 3],
  [[5, 1, 3], 3],
  [[4, 1, 3, 2], 2.5],
])("median of %j", (values, expected) => {
  expect(median(values)).toBe(expected);
});

it("is kept on this device until it is cleared", () => {
  keepLatency(84);
  expect([latencyMs.value, localStorage.getItem("counterpane.latency"), soundLagMs()]).toEqual([84, "84", 84]);
  keepLatency(null);
  expect([latencyMs.value, localStorage.getItem("counterpane.latency"), soundLagMs()]).toEqual([null, null, 0]);
});

it("haste of the hand makes no sound earlier", () => {
  keepLatency(-30);
  expect(soundLagMs()).toBe(0);
});
