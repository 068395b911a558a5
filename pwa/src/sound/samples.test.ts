import { expect, it } from "vitest";
import { playbackRate, sampleFor, samplesFor } from "./samples";

it.each([
  [60, 60, "/samples/C4.mp3"],
  [61, 60, "/samples/C4.mp3"],
  [62, 63, "/samples/Ds4.mp3"],
  [66, 66, "/samples/Fs4.mp3"],
  [69, 69, "/samples/A4.mp3"],
  [21, 21, "/samples/A0.mp3"],
  [108, 108, "/samples/C8.mp3"],
])("key %i is served by the sample of key %i", (midi, sampled, url) => {
  expect(sampleFor(midi)).toEqual({ midi: sampled, url });
});

it("no key of a piano is further than a semitone and a half from its sample", () => {
  for (let midi = 21; midi <= 108; midi++) expect(Math.abs(sampleFor(midi).midi - midi)).toBeLessThanOrEqual(1.5);
});

it("an octave doubles the rate", () => {
  expect(playbackRate(72, 60)).toBeCloseTo(2, 12);
});

it("a passage asks for each sample once", () => {
  expect(samplesFor([60, 61, 60, 62]).map((sample) => sample.midi)).toEqual([60, 63]);
});
