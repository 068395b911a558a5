import { expect, it } from "vitest";
import type { Drill, Step } from "../../api/types";
import { alongOf, clampTempo, ownNotes, passageOf, settingsFor, transposed } from "./drill";

const measure = (number: number, onset: number, length: number, padding = 0) => ({
  id: `m${number}`,
  number,
  onset,
  length,
  padding,
  beats: 3,
  beat_unit: 4,
});
const note = (id: string, hand: "right" | "left", onset: number) => ({
  id,
  heads: [id],
  hand,
  midi: 60,
  onset,
  duration: 1,
});

const DRILL = {
  goal_tempo: 90,
  measures: [measure(0, 0, 1, 2), measure(1, 1, 3)],
  notes: [note("n1", "right", 0), note("n2", "left", 1)],
} as unknown as Drill;

const step = (part: Partial<Step>) => ({ hands: "right", heard: "none", tempo_share: 1, ...part }) as Step;

it.each([
  ["right", "none", []],
  ["right", "other", ["left"]],
  ["left", "other", ["right"]],
  ["both", "other", []],
  ["both", "both", ["right", "left"]],
] as const)("playing %s with %s heard, the page plays %j", (hands, heard, expected) => {
  expect(alongOf(step({ hands, heard }))).toEqual(expected);
});

it("a step begins at its share of the goal tempo, with the metronome only where nothing listens", () => {
  expect(settingsFor(DRILL, step({ tempo_share: 0.7 }), true)).toMatchObject({ tempo: 63, metronome: false });
  expect(settingsFor(DRILL, step({}), false)).toMatchObject({ tempo: 90, metronome: true });
});

it.each([
  [3, 10],
  [66.4, 66],
  [900, 400],
])("a tempo of %d becomes %d", (asked, expected) => {
  expect(clampTempo(asked)).toBe(expected);
});

it("the passage keeps its pickup and is counted in the meter of its full measures", () => {
  expect(passageOf(DRILL)).toMatchObject({ measureOnsets: [0, 1], end: 4, meter: { beats: 3, unit: 4 } });
});

it("the follower is given the student's own notes only", () => {
  expect(ownNotes(DRILL, step({ hands: "left" })).map((found) => found.id)).toEqual(["n2"]);
});

it("on a piano that is set two semitones higher everything sounds so, and is written as before", () => {
  expect(transposed(DRILL, 2).notes.map((found) => found.midi)).toEqual([62, 62]);
  expect(transposed(DRILL, 2).measures).toEqual(DRILL.measures);
});
