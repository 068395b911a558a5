import { expect, it } from "vitest";
import { speak } from "./catalogue";
import { measures, pitchName, today } from "./phrases";

it("a pitch is named as musicians of the language name it", async () => {
  // Common practice, no source: German B natural is H, and B flat is B.
  await speak("de");
  expect(["B4", "Bb4", "C#5", "Eb3"].map(pitchName)).toEqual(["H4", "B4", "C♯5", "E♭3"]);
  await speak("en");
  expect(["B4", "Bb4", "C#5", "F##2"].map(pitchName)).toEqual(["B4", "B♭4", "C♯5", "F♯♯2"]);
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
