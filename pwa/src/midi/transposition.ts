/** A piano that is transposed sends every key off by the same interval. */

const ENOUGH = 8;

/**
 * The interval in semitones by which everything played is off, or 0. `offsets` holds, for each of the latest keys,
 * played minus expected; nothing is said before eight keys agree.
 */
export function transposedBy(offsets: readonly number[]): number {
  const latest = offsets.slice(-ENOUGH);
  const [first] = latest;
  if (latest.length < ENOUGH || first === undefined) return 0;
  return latest.every((offset) => offset === first) ? first : 0;
}
