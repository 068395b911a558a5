import { expect, it } from "vitest";
import { transposedBy } from "./transposition";

it.each([
  ["nothing is said before enough keys were played", [2, 2, 2], 0],
  ["a piano set a whole tone up", Array(8).fill(2), 2],
  ["a piano split an octave down", Array(9).fill(-12), -12],
  ["as written", Array(8).fill(0), 0],
  ["wrong notes are no transposition", [2, 2, 2, 1, 2, 2, 2, 2], 0],
  ["only the latest keys count", [0, 0, 0, ...Array(8).fill(-1)], -1],
])("%s", (_, offsets, expected) => {
  expect(transposedBy(offsets)).toBe(expected);
});
