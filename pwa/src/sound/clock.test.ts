import { expect, it } from "vitest";
import { heardAt, heardNow } from "./clock";

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
