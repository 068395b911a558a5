/** A piano that is transposed, or split, sends every key off by the same interval. */
import { Follower } from "./follower";
import type { Line } from "./line";

/** So many keys must agree before anything is said. */
export const ENOUGH_KEYS = 8;
const WIDEST = 12;

/**
 * The interval in semitones by which everything played is off, or 0: the one interval at which the keys follow the
 * score without a fault, when they do not as they are.
 */
export function transposedBy(line: Line, keys: readonly number[]): number {
  if (keys.length < ENOUGH_KEYS || faults(line, keys, 0) === 0) return 0;
  const intervals = Array.from({ length: 2 * WIDEST + 1 }, (_, i) => i - WIDEST).filter(
    (interval) => interval !== 0,
  );
  const fitting = intervals.filter((interval) => faults(line, keys, interval) === 0);
  return fitting.length === 1 ? (fitting[0] ?? 0) : 0;
}

/** How many keys are not where the score goes on, when all are moved back by an interval. */
function faults(line: Line, keys: readonly number[], interval: number): number {
  const follower = new Follower(line);
  return keys.filter((key) => {
    const { asWritten, jumped } = follower.hear(key - interval);
    return !asWritten || jumped;
  }).length;
}
