import { expect, test } from "vitest";
import { type Note, soundsOf } from "./hearing";

const note = (measure: number, offset: number, midi: number, hand: "right" | "left" = "right"): Note => ({
  id: `n${offset}-${midi}`,
  hand,
  midi,
  pitch: "",
  voice: 1,
  duration: 1,
  place: { measure, beat: 1 + (offset % 4), offset },
});

const PIECE = [note(1, 0, 60), note(2, 4, 62), note(2, 5, 50, "left"), note(3, 8, 64)];

test("both hands sound from the first note of the stretch on, and nothing outside it", () => {
  const heard = soundsOf(PIECE, { first: 2, last: 2 }, 60);
  expect(heard?.sounds.map((sound) => sound.kind === "note" && [sound.at, sound.midi])).toEqual([
    [0, 62],
    [1, 50],
  ]);
});

test("a quarter lasts as long as the tempo says", () => {
  expect(soundsOf(PIECE, { first: 1, last: 3 }, 120)?.endsAt).toBeCloseTo(4.5);
});

test("measures without notes have nothing to hear", () => {
  expect(soundsOf(PIECE, { first: 7, last: 9 }, 60)).toBeNull();
});
