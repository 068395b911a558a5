import { expect, it } from "vitest";
import { replaced } from "./glyphs";

it("music signs in text are set as ordinary characters", () => {
  // SMuFL 1.4, "Metronome marks" (U+ECA0 ff.) and "Dynamics" (U+E520 ff.).
  expect(replaced("\uECA5 = 76")).toBe("♩ = 76");
  expect(replaced("\uECA7\uECB7 = 60")).toBe("♪. = 60");
  expect(replaced("\uE52D")).toBe("mf");
});

it("other text stays as it is", () => {
  expect(replaced("Andante, un poco")).toBe("Andante, un poco");
});
