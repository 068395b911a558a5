import { expect, it } from "vitest";
import { heardAt, heardNow, tappedLatency } from "./clock";

const context = (stamp: AudioTimestamp | undefined) =>
  ({
    currentTime: 5,
    baseLatency: 0.01,
    outputLatency: 0.03,
    getOutputTimestamp: stamp ? () => stamp : undefined,
  }) as unknown as AudioContext;

it("believes the browser's own output time", () => {
  const pair = heardNow(context({ contextTime: 4.9, performanceTime: 1000 }), 1001);
  expect(heardAt(5.9, pair)).toBeCloseTo(2000, 9);
});

it("estimates it from the latency where the browser gives none", () => {
  expect(heardAt(5, heardNow(context(undefined), 1000))).toBeCloseTo(1040, 9);
});

it.each([
  ["steady taps give their delay", [0, 500, 1000, 1500, 2000], [42, 541, 1043, 1540, 2042], 42],
  ["too few taps say nothing", [0, 500], [40, 540], null],
  ["scattered taps say nothing", [0, 500, 1000, 1500, 2000], [0, 590, 1180, 1420, 2100], null],
])("%s", (_, clicks, taps, expected) => {
  expect(tappedLatency(clicks, taps)).toBe(expected);
});
