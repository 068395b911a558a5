import { describe, expect, it } from "vitest";
import {
  type Catalogue,
  type Key,
  type Language,
  language,
  type Message,
  preferred,
  speak,
  text,
} from "./catalogue";
import { german } from "./de";
import { english } from "./en";

const CATALOGUES: Record<Language, Catalogue> = { en: english, de: german };
const SOURCES = import.meta.glob(["../**/*.{ts,tsx}", "!../**/*.test.*", "!./en.ts", "!./de.ts"], {
  query: "?raw",
  import: "default",
  eager: true,
});

const formsOf = (message: Message): string[] => (typeof message === "string" ? [message] : Object.values(message));
const namesIn = (sentence: string): string[] => [...sentence.matchAll(/\{(\w+)\}/g)].map(([, name]) => name ?? "");
const namesOf = (message: Message) => new Set(formsOf(message).flatMap(namesIn));

describe("every catalogue", () => {
  it("has the same keys as the English one", () => {
    for (const catalogue of Object.values(CATALOGUES)) {
      expect(Object.keys(catalogue).toSorted()).toEqual(Object.keys(english).toSorted());
    }
  });

  it("fills in the same names in every language", () => {
    for (const key of Object.keys(english) as Key[]) {
      expect([key, namesOf(german[key])]).toEqual([key, namesOf(english[key])]);
    }
  });

  it("has every plural form that its language knows", () => {
    for (const [tag, catalogue] of Object.entries(CATALOGUES)) {
      const forms = new Intl.PluralRules(tag).resolvedOptions().pluralCategories;
      for (const [key, message] of Object.entries(catalogue)) {
        if (typeof message === "string") continue;
        expect([tag, key, forms.filter((form) => !(form in message))]).toEqual([tag, key, []]);
      }
    }
  });

  it("holds no wording that no screen uses", () => {
    const code = Object.values(SOURCES).join("\n");
    const stems = [...code.matchAll(/`([\w. -]+)\$\{/g)].map(([, stem]) => stem ?? "");
    const unused = Object.keys(english).filter(
      (key) => !code.includes(`"${key}"`) && !stems.some((stem) => key.startsWith(stem)),
    );
    expect(unused).toEqual([]);
  });
});

describe("a sentence", () => {
  it("is chosen by its number", async () => {
    await speak("en");
    expect(text("minutes", { n: 1 })).toBe("1 minute");
    expect(text("minutes", { n: 5 })).toBe("5 minutes");
    expect(text("quilt.attempts", { n: 0 })).toBe("not tried yet");
  });

  it("writes numbers as its language does", async () => {
    await speak("de");
    expect(text("minutes", { n: 1.5 })).toBe("1,5 Minuten");
    await speak("en");
    expect(text("minutes", { n: 1.5 })).toBe("1.5 minutes");
  });
});

it("the page tells the browser which language it speaks", async () => {
  await speak("de");
  expect(document.documentElement.lang).toBe("de");
  expect(language.value).toBe("de");
});

it("the first of the browser's languages that the page has is taken, English where it has none", () => {
  expect(preferred(["fr-FR", "de-AT", "en"])).toBe("de");
  expect(preferred(["fr", "it"])).toBe("en");
});
