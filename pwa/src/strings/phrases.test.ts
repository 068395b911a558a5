import { expect, it } from "vitest";
import { speak } from "./catalogue";
import { beat, keyName, measures, pitchName, sectionLabel, today } from "./phrases";

it("a pitch is named as musicians of the language name it", async () => {
  // Common practice, no source: German B natural is H, and B flat is B.
  await speak("de");
  expect(["B4", "Bb4", "C#5", "Eb3"].map(pitchName)).toEqual(["H4", "B4", "C♯5", "E♭3"]);
  await speak("en");
  expect(["B4", "Bb4", "C#5", "F##2"].map(pitchName)).toEqual(["B4", "B♭4", "C♯5", "F♯♯2"]);
});

// Common practice, no source: German writes minor keys small, and forms its sharps and flats with -is and -es.
it.each([
  ["A minor", "A minor", "a-Moll"],
  ["F# minor", "F♯ minor", "fis-Moll"],
  ["Bb major", "B♭ major", "B-Dur"],
  ["B minor", "B minor", "h-Moll"],
  ["Eb major", "E♭ major", "Es-Dur"],
  ["Ab minor", "A♭ minor", "as-Moll"],
  ["Db major", "D♭ major", "Des-Dur"],
  ["no key", "no key", "no key"],
])("the key %s", async (key, english, german) => {
  await speak("de");
  expect(keyName(key)).toBe(german);
  await speak("en");
  expect(keyName(key)).toBe(english);
});

it("a section without a letter is named in the language", async () => {
  await speak("de");
  expect(["A1", "closing"].map(sectionLabel)).toEqual(["A1", "Schluss"]);
  await speak("en");
  expect(sectionLabel("closing")).toBe("closing");
});

it("a beat is named as exactly as it is written", async () => {
  await speak("de");
  expect([1, 1.75, 2 + 1 / 3].map(beat)).toEqual(["1", "1,75", "2,33"]);
  await speak("en");
  expect([1, 1.75, 2 + 1 / 3].map(beat)).toEqual(["1", "1.75", "2.33"]);
});

it("one measure is not a range", async () => {
  await speak("en");
  expect(measures(5, 5)).toBe("measure 5");
  expect(measures(5, 6)).toBe("measures 5–6");
  expect(measures(5, 6, "short")).toBe("mm. 5–6");
});

it("today is the day on this device, not the day in Greenwich", () => {
  expect(today(new Date(2026, 2, 3, 0, 5))).toBe("2026-03-03");
  expect(today(new Date(2026, 11, 31, 23, 59))).toBe("2026-12-31");
});
