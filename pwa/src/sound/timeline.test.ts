import { expect, it } from "vitest";
import { beatQuarters, type Heard, type Passage, seconds, timeline } from "./timeline";

const PASSAGE: Passage = {
  notes: [
    { id: "n1", hand: "right", midi: 72, onset: 4, duration: 1 },
    { id: "n2", hand: "left", midi: 48, onset: 4, duration: 2 },
    { id: "n3", hand: "right", midi: 74, onset: 5, duration: 3 },
  ],
  measureOnsets: [4],
  end: 8,
  meter: { beats: 4, unit: 4 },
};
const QUIET: Heard = { hands: [], metronome: false, subdivision: 1, countIn: false };

const clicks = (passage: Passage, tempo: number, heard: Heard) =>
  timeline(passage, tempo, heard).sounds.flatMap((s) => (s.kind === "click" ? [[s.at, s.weight] as const] : []));

it("at quarter = 60 a quarter lasts one second", () => {
  expect(seconds(1, 60)).toBe(1);
});

it.each([
  ["4/4", { beats: 4, unit: 4 }, 1],
  ["3/8 beats in eighths", { beats: 3, unit: 8 }, 0.5],
  ["6/8 beats in dotted quarters", { beats: 6, unit: 8 }, 1.5],
  ["12/16 beats in dotted eighths", { beats: 12, unit: 16 }, 0.75],
  ["2/2 beats in halves", { beats: 2, unit: 2 }, 2],
])("beat of %s", (_, meter, expected) => {
  expect(beatQuarters(meter)).toBe(expected);
});

it("only the hands that are to be heard sound", () => {
  const { sounds } = timeline(PASSAGE, 60, { ...QUIET, hands: ["left"] });
  expect(sounds).toMatchObject([{ kind: "note", id: "n2", at: 0 }]);
});

it("a measure is counted in, and the metronome goes on without a gap", () => {
  const found = clicks(PASSAGE, 120, { ...QUIET, countIn: true, metronome: true });
  expect(found.map(([at]) => at)).toEqual([0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5]);
  expect(found.map(([, weight]) => weight)).toEqual([
    ...["measure", "beat", "beat", "beat"],
    ...["measure", "beat", "beat", "beat"],
  ]);
  expect(timeline(PASSAGE, 120, { ...QUIET, countIn: true })).toMatchObject({ musicAt: 2, endsAt: 4 });
});

it("a pickup is counted in with a whole measure and the beats that are missing before it", () => {
  const pickup: Passage = { ...PASSAGE, notes: [], measureOnsets: [0, 1], end: 5 };
  expect(timeline(pickup, 60, { ...QUIET, countIn: true }).musicAt).toBe(7);
  const found = clicks(pickup, 60, { ...QUIET, metronome: true });
  expect(found).toEqual([
    [0, "beat"],
    [1, "measure"],
    [2, "beat"],
    [3, "beat"],
    [4, "beat"],
  ]);
});

it("subdivisions click between the beats", () => {
  const found = clicks({ ...PASSAGE, meter: { beats: 4, unit: 4 } }, 60, {
    ...QUIET,
    metronome: true,
    subdivision: 2,
  });
  expect(found.slice(0, 3)).toEqual([
    [0, "measure"],
    [0.5, "inner"],
    [1, "beat"],
  ]);
});
