/** Which keys were sampled, and which sample serves a key: every third semitone from A0 to C8. */

const SAMPLED_STEPS = ["C", "Ds", "Fs", "A"] as const;
const LOWEST = 21; // A0
const HIGHEST = 108; // C8

export interface Sample {
  /** The key that was sampled, as a MIDI note number. */
  midi: number;
  /** Where the recording is. */
  url: string;
}

/** The sample nearest to a key; it is at most a semitone and a half away inside the keyboard. */
export function sampleFor(midi: number): Sample {
  const clamped = Math.min(HIGHEST, Math.max(LOWEST, midi));
  const sampled = Math.round(clamped / 3) * 3;
  const step = SAMPLED_STEPS[(sampled % 12) / 3] ?? "C";
  return { midi: sampled, url: `/samples/${step}${Math.floor(sampled / 12) - 1}.mp3` };
}

/** How fast a recording of `sampled` must run to sound as `midi` (equal temperament). */
export function playbackRate(midi: number, sampled: number): number {
  return 2 ** ((midi - sampled) / 12);
}

/** The samples that a passage needs, each once. */
export function samplesFor(keys: Iterable<number>): Sample[] {
  const byUrl = new Map<string, Sample>();
  for (const key of keys) {
    const sample = sampleFor(key);
    byUrl.set(sample.url, sample);
  }
  return [...byUrl.values()];
}
