import { expect, it } from "vitest";
import { type Clock, schedule } from "./scheduler";
import type { Sound } from "./timeline";

/** A clock that the test moves: the same protocol as the audio clock's. */
class HandClock implements Clock {
  time = 10;
  private look: (() => void) | null = null;
  now = () => this.time;
  every(_period: number, look: () => void) {
    this.look = look;
    return () => {
      this.look = null;
    };
  }
  to(time: number) {
    this.time = time;
    this.look?.();
  }
  get running() {
    return this.look !== null;
  }
}

const CLICKS: Sound[] = [0, 0.5, 1, 1.5].map((at) => ({ kind: "click", at, weight: "beat" }));

function start(clock: HandClock) {
  const played: number[] = [];
  const told: string[] = [];
  const running = schedule(clock, { play: (_, at) => played.push(at) }, CLICKS, {
    origin: 10,
    endsAt: 2,
    onEnd: () => told.push("end"),
    onJump: () => told.push("jump"),
  });
  return { played, told, running };
}

it("hands over what is due soon, at its exact time, and nothing twice", () => {
  const clock = new HandClock();
  const { played } = start(clock);
  expect(played).toEqual([10]);
  clock.to(10.2);
  expect(played).toEqual([10]);
  clock.to(10.31);
  clock.to(10.36);
  expect(played).toEqual([10, 10.5]);
});

it("tells the end once and stops looking", () => {
  const clock = new HandClock();
  const { told } = start(clock);
  for (const time of [10.4, 10.9, 11.4, 12, 12.1]) clock.to(time);
  expect(told).toEqual(["end"]);
  expect(clock.running).toBe(false);
});

it("a clock that jumps drops what was missed and says so", () => {
  const clock = new HandClock();
  const { played, told } = start(clock);
  clock.to(11.4);
  expect(played).toEqual([10, 11.5]);
  expect(told).toEqual(["jump"]);
});

it("a little late is played at once", () => {
  const clock = new HandClock();
  const { played, told } = start(clock);
  clock.to(10.6);
  expect(played).toEqual([10, 10.6]);
  expect(told).toEqual([]);
});

it("stops when told", () => {
  const clock = new HandClock();
  const { played, running } = start(clock);
  running.stop();
  clock.to(11);
  expect(played).toEqual([10]);
});
