import { expect, it } from "vitest";
import type { AttemptPage } from "../../api/types";
import type { RawEvent } from "../../midi/messages";
import type { ScoreNote } from "../../sound/timeline";
import { difference, struckKeys } from "./difference";

type Report = NonNullable<AttemptPage["assessment"]>;

const on = (at: number, midi: number): RawEvent => [at, 0x90, midi, 80];
const off = (at: number, midi: number): RawEvent => [at, 0x80, midi, 0];

const WRITTEN: ScoreNote[] = [
  { id: "n1", hand: "right", midi: 60, onset: 4, duration: 1 },
  { id: "n2", hand: "right", midi: 62, onset: 5, duration: 1 },
];

/** The measure is tried, broken off, and played again with a wrong second note. */
const EVENTS: RawEvent[] = [on(0, 60), off(400, 60), on(3000, 60), off(3400, 60), on(3600, 61), off(3900, 61)];
const REPORT = {
  events: [
    { event: 0, status: "abandoned", note: "n1" },
    { event: 1, status: "as_written", note: "n1" },
    { event: 2, status: "replacement", note: "n2" },
  ],
  jumps: [{ event: 1, from: "n1", to: "n1", kind: "restart" }],
} as unknown as Report;

it("counts struck keys in time order, at one instant from low to high, with their ends", () => {
  expect(
    struckKeys([on(5, 64), on(5, 60), off(9, 60), on(7, 60)]).map((key) => [key.midi, key.at, key.until]),
  ).toEqual([
    [60, 5, 7],
    [64, 5, Number.POSITIVE_INFINITY],
    [60, 7, 9],
  ]);
});

it("sounds the latest pass as it was played, then the notes as written", () => {
  const heard = difference(REPORT, EVENTS, WRITTEN, 60);
  const notes = heard?.sounds.flatMap((sound) => (sound.kind === "note" ? [[sound.midi, sound.at]] : []));
  expect(notes).toEqual([
    [60, 0],
    [61, 0.6],
    [60, 1.4],
    [62, 2.4],
  ]);
});

it("has nothing to sound where nothing was played", () => {
  const elsewhere: ScoreNote[] = [{ id: "n9", hand: "left", midi: 48, onset: 8, duration: 1 }];
  expect(difference(REPORT, EVENTS, elsewhere, 60)).toBeNull();
});
