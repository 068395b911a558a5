import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { Follower } from "./follower";
import { type Hand, type Line, prepare } from "./line";
import { octaveApart, transposedBy } from "./transposition";

type Vectors = {
  format: number;
  cases: {
    name: string;
    notes: { id: string; hand: Hand; onset: number; midi: number; ornament_keys: number[] }[];
    measure_starts: number[];
    keys: {
      midi: number;
      as_written: boolean;
      note: string | null;
      jumped: boolean;
      next_right: string | null;
      next_left: string | null;
    }[];
  }[];
};

/** The answers that the backend's follower gives; its own tests hold it to the same file. */
const VECTORS: Vectors = JSON.parse(readFileSync("../tests/vectors/following.json", "utf8"));

function lineOf(found: Vectors["cases"][number]): Line {
  const notes = found.notes.map(({ ornament_keys, ...note }) => ({ ...note, ornamentKeys: ornament_keys }));
  return prepare(notes, found.measure_starts);
}

describe("the follower answers as the backend's does", () => {
  it("there are vectors to answer", () => {
    expect(VECTORS.format).toBe(1);
    expect(VECTORS.cases.length).toBeGreaterThan(15);
  });

  it.each(VECTORS.cases.map((found) => [found.name, found] as const))("%s", (_, found) => {
    const follower = new Follower(lineOf(found));
    const answers = found.keys.map(({ midi }) => follower.hear(midi));
    const expected = found.keys.map((key) => ({
      asWritten: key.as_written,
      note: key.note,
      jumped: key.jumped,
      nextRight: key.next_right,
      nextLeft: key.next_left,
    }));
    expect(answers).toEqual(expected);
  });
});

const SCALE = [60, 62, 64, 65, 67, 69, 71, 72, 71, 67];
const scale = prepare(
  SCALE.map((midi, i) => ({ id: `n${i}`, hand: "right" as const, onset: i, midi, ornamentKeys: [] })),
  [0, 4, 8],
);

it("the end is reached with the last written note, not before", () => {
  const follower = new Follower(scale);
  expect(follower.atEnd()).toBe(false);
  for (const midi of SCALE.slice(0, -1)) follower.hear(midi);
  expect(follower.atEnd()).toBe(false);
  follower.hear(67);
  expect(follower.atEnd()).toBe(true);
});

it("before the first key the first note of the hand comes next", () => {
  expect(new Follower(scale).next()).toEqual({ nextRight: "n0", nextLeft: null });
});

it.each([
  ["as written", SCALE, 0],
  ["a whole tone up", SCALE.map((key) => key + 2), 2],
  ["an octave down", SCALE.map((key) => key - 12), -12],
  ["too few keys to say", SCALE.slice(0, 5).map((key) => key + 2), null],
  ["two wrong keys are no transposition", [60, 61, 64, 66, 67, 69, 71, 72], null],
  ["something else entirely", [48, 55, 50, 58, 49, 60, 54, 47, 53], null],
])("a piano that plays %s", (_, keys, expected) => {
  expect(transposedBy(scale, keys)).toBe(expected);
});

const BASS = [48, 55, 52, 47, 48];
/** The scale in the right hand, a bass in the left, one hand moved by some semitones. */
function twoHands(moved: Hand | null, semitones: number): Line {
  const by = (hand: Hand) => (hand === moved ? semitones : 0);
  const right = SCALE.map((midi, i) => ({
    id: `r${i}`,
    hand: "right" as const,
    onset: i,
    midi: midi + by("right"),
  }));
  const left = BASS.map((midi, i) => ({
    id: `l${i}`,
    hand: "left" as const,
    onset: 2 * i,
    midi: midi + by("left"),
  }));
  return prepare(
    [...right, ...left].map((note) => ({ ...note, ornamentKeys: [] })),
    [0, 4, 8],
  );
}

it.each([
  ["as written", null, 0, null],
  ["the left hand an octave down", "left", -12, "left"],
  ["the right hand an octave up", "right", 12, "right"],
  ["the left hand a third up", "left", 4, null],
] as const)("a split piano: %s", (_, moved, semitones, expected) => {
  const keys = twoHands(moved, semitones).notes.map((note) => note.midi);
  expect(octaveApart(twoHands, keys)).toBe(expected);
});
