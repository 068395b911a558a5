/**
 * The wording, one catalogue a language. A message is a sentence with {names}, or one sentence for each plural
 * form of its `n` (Intl.PluralRules decides which; "zero" is taken for none in every language). English is always there; others come when they are wanted.
 */
import { computed, signal } from "@preact/signals";
import { english } from "./en";

export type Plural = { readonly [form in Intl.LDMLPluralRule]?: string } & { readonly other: string };
export type Message = string | Plural;
export type Key = keyof typeof english;
export type Catalogue = { readonly [key in Key]: Message };
export type Language = "en" | "de";
export type Values = Readonly<Record<string, string | number>>;

export const language = signal<Language>("en");
const catalogue = signal<Catalogue>(english);
const plurals = computed(() => new Intl.PluralRules(language.value));
const numbers = computed(() => new Intl.NumberFormat(language.value, { maximumFractionDigits: 1 }));

/** Switch the language; the catalogue is fetched first, so that no screen is half in one and half in another. */
export async function speak(wanted: Language): Promise<void> {
  if (wanted !== language.value) {
    catalogue.value = wanted === "de" ? (await import("./de")).german : english;
    language.value = wanted;
  }
  document.documentElement.lang = language.value;
}

/** The language that the browser asks for, among ours. */
export function preferred(languages: readonly string[]): Language {
  const first = languages.map((tag) => tag.slice(0, 2)).find((tag) => tag === "en" || tag === "de");
  return first === "de" ? "de" : "en";
}

/** The wording of `key`, its {names} filled in; numbers are written as the language writes them. */
export function text(key: Key, values: Values = {}): string {
  return fill(choose(catalogue.value[key], values), values);
}

function choose(message: Message, values: Values): string {
  if (typeof message === "string") return message;
  if (values.n === 0 && message.zero !== undefined) return message.zero;
  return message[plurals.value.select(Number(values.n ?? 0))] ?? message.other;
}

function fill(sentence: string, values: Values): string {
  return sentence.replace(/\{(\w+)\}/g, (whole, name: string) => {
    const value = values[name];
    if (value === undefined) return whole;
    return typeof value === "number" ? numbers.value.format(value) : value;
  });
}

/** A day as the language writes it, for example "Tue 3 Mar". `day` is an ISO date. */
export function dayText(day: string, style: "short" | "long" = "short"): string {
  const options: Intl.DateTimeFormatOptions =
    style === "short"
      ? { weekday: "short", day: "numeric", month: "short" }
      : { weekday: "long", day: "numeric", month: "long" };
  return new Intl.DateTimeFormat(language.value, { ...options, timeZone: "UTC" }).format(
    new Date(`${day}T00:00:00Z`),
  );
}

/** The name of a weekday, Monday is 0. */
export function weekdayName(day: number): string {
  const someMonday = Date.UTC(2024, 0, 1);
  const format = new Intl.DateTimeFormat(language.value, { weekday: "long", timeZone: "UTC" });
  return format.format(someMonday + day * 86_400_000);
}
