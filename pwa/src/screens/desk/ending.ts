/** When a try is over: at its end, after a silence, or when nothing was played at all. */

export interface Progress {
  /** The page's clock in milliseconds. */
  now: number;
  /** When the first note was due. */
  musicAt: number;
  /** Length of a measure at the chosen tempo. */
  measureMs: number;
  /** When a key last moved; null before the first. */
  lastEventAt: number | null;
  keysDown: number;
  /** The last written note has been played. */
  reachedEnd: boolean;
}

export type Ending = "goes-on" | "finished" | "silent" | "never-began";

/** After the last note a moment is left to correct it. */
const AFTER_LAST_MS = 1500;
/** A pause for thought is part of practising; only a long one ends the try. */
const SHORTEST_SILENCE_MS = 5000;
const PATIENCE_MS = 20_000;

export function ending(progress: Progress): Ending {
  const { now, lastEventAt } = progress;
  if (lastEventAt === null) return now - progress.musicAt > PATIENCE_MS ? "never-began" : "goes-on";
  if (progress.keysDown > 0 && now - lastEventAt < PATIENCE_MS) return "goes-on";
  const quiet = now - lastEventAt;
  if (progress.reachedEnd && quiet > AFTER_LAST_MS) return "finished";
  return quiet > Math.max(SHORTEST_SILENCE_MS, 2 * progress.measureMs) ? "silent" : "goes-on";
}
