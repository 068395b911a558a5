/** Phrases that several screens use. */
import type { Analysis, Place } from "../api/types";
import { language, text } from "./catalogue";

const MEASURES = {
  long: ["measures.one", "measures.range"],
  short: ["measures.short.one", "measures.short.range"],
} as const;

/** "measure 5" or "measures 5–6"; `short`: "m. 5", "mm. 5–6". */
export function measures(first: number, last: number, style: "long" | "short" = "long"): string {
  const [one, range] = MEASURES[style];
  return first === last ? text(one, { first }) : text(range, { first, last });
}

export function place(at: Place): string {
  return text("piece.place", { measure: at.measure, beat: beat(at.beat) });
}

/** A beat as exactly as it is written: the last sixteenth of the first quarter is 1.75, not 1.8. */
export function beat(at: number): string {
  return at.toLocaleString(language.value, { maximumFractionDigits: 2 });
}

export function minutes(n: number): string {
  return text("minutes", { n: Math.round(n) });
}

/** A pitch as musicians of the language name it: German says H for B, and B for B flat. */
export function pitchName(pitch: string): string {
  const [, step = "", sign = "", octave = ""] = /^([A-G])(.*?)(-?\d*)$/.exec(pitch) ?? [];
  if (!step) return pitch;
  const flat = /^(b|-|♭)$/.test(sign);
  const shown = sign.replaceAll("#", "♯").replaceAll("b", "♭").replaceAll("-", "♭");
  if (language.value !== "de" || step !== "B") return `${step}${shown}${octave}`;
  return flat ? `B${octave}` : `H${shown}${octave}`;
}

/** A key such as "F# minor" or "Bb major" as the language names it: German "fis-Moll", "B-Dur". */
export function keyName(key: string): string {
  const [, step = "", sign = "", mode = ""] = /^([A-G])([#b]?) (major|minor)$/.exec(key) ?? [];
  if (!step) return key;
  if (language.value !== "de") return `${step}${sign.replace("#", "♯").replace("b", "♭")} ${mode}`;
  const tonic = germanTonic(step, sign);
  return mode === "major" ? `${tonic}-Dur` : `${tonic.toLowerCase()}-Moll`;
}

function germanTonic(step: string, sign: string): string {
  if (step === "B") return { "": "H", "#": "His", b: "B" }[sign] ?? step;
  if (sign === "b") return /[AE]/.test(step) ? `${step}s` : `${step}es`;
  return sign === "#" ? `${step}is` : step;
}

/** A section's label; the last stretch of a piece has a word instead of a letter. */
export function sectionLabel(label: string): string {
  return label === "closing" ? text("section.closing") : label;
}

/** A note by its pitch, hand and place. */
export function noteName({ pitch, hand, place: at }: Analysis["notes"][number]): string {
  const words = { pitch: pitchName(pitch), hand: text(`hands.${hand}`) };
  return text("note.name", { ...words, measure: at.measure, beat: beat(at.beat) });
}

/** The day on this device's calendar, as an ISO date. */
export function today(now: Date = new Date()): string {
  const pad = (n: number) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${pad(now.getMonth() + 1)}-${pad(now.getDate())}`;
}
