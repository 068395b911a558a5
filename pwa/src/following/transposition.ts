/** A piano that is set higher or lower than it is written, or split, sends keys off by one interval. */
import { Follower } from "./follower";
import type { Hand, Line } from "./line";

/** So many keys must agree before anything is said. */
export const ENOUGH_KEYS = 8;
const WIDEST = 12;
const OCTAVE = 12;

/**
 * The interval in semitones by which everything played is higher than written: the only one at which the keys follow
 * the score without a fault, 0 where they do as they are. Null where that cannot be said.
 */
export function transposedBy(line: Line, keys: readonly number[]): number | null {
  if (keys.length < ENOUGH_KEYS) return null;
  if (follows(line, keys, 0)) return 0;
  const intervals = Array.from({ length: 2 * WIDEST + 1 }, (_, i) => i - WIDEST);
  const fitting = intervals.filter((interval) => follows(line, keys, interval));
  return fitting.length === 1 ? (fitting[0] ?? null) : null;
}

/**
 * The hand that alone sounds an octave away from what is written, as on a split keyboard; null where neither or
 * either may. `shifted` gives the line with one hand's notes moved by some semitones.
 */
export function octaveApart(
  shifted: (hand: Hand, semitones: number) => Line,
  keys: readonly number[],
): Hand | null {
  if (keys.length < ENOUGH_KEYS) return null;
  const fitting = (["right", "left"] as const).filter((hand) =>
    [-OCTAVE, OCTAVE].some((semitones) => follows(shifted(hand, semitones), keys, 0)),
  );
  return fitting.length === 1 ? (fitting[0] ?? null) : null;
}

/** Whether all keys are where the score goes on, when they are moved back by an interval. */
function follows(line: Line, keys: readonly number[], interval: number): boolean {
  const follower = new Follower(line);
  return keys.every((key) => {
    const { asWritten, jumped } = follower.hear(key - interval);
    return asWritten && !jumped;
  });
}
