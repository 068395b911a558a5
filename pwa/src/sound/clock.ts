/**
 * Two clocks: MIDI events carry milliseconds of the page's clock (`performance.now()`), sounds are placed in seconds
 * of the audio clock, and what is heard comes a latency later still.
 */

export interface ClockPair {
  /** Seconds of the audio clock as it is heard now, and the page's clock at that moment in milliseconds. */
  contextTime: number;
  performanceTime: number;
}

/**
 * The pair of times that a listener hears now. Browsers that report an output time already count the latency in;
 * for the others it is estimated from the context.
 */
export function heardNow(context: AudioContext, nowMs: number = performance.now()): ClockPair {
  const stamp = context.getOutputTimestamp?.();
  if (stamp?.contextTime && stamp.performanceTime) {
    return { contextTime: stamp.contextTime, performanceTime: stamp.performanceTime };
  }
  const latency = (context.baseLatency ?? 0) + (context.outputLatency ?? 0);
  return { contextTime: context.currentTime - latency, performanceTime: nowMs };
}

/** The page's time in milliseconds at which a sound placed at `audioS` is heard. */
export function heardAt(audioS: number, pair: ClockPair): number {
  return pair.performanceTime + (audioS - pair.contextTime) * 1000;
}

/**
 * The latency of the whole loop as the player lives it, from taps along with clicks: the median of tap minus click
 * in milliseconds, or null when there are too few taps or they scatter too widely to say.
 */
export function tappedLatency(clicksMs: readonly number[], tapsMs: readonly number[]): number | null {
  const offsets = tapsMs.flatMap((tap) => {
    const nearest = clicksMs.reduce(
      (best, at) => (Math.abs(at - tap) < Math.abs(best - tap) ? at : best),
      Infinity,
    );
    return Number.isFinite(nearest) ? [tap - nearest] : [];
  });
  if (offsets.length < 5) return null;
  const sorted = offsets.toSorted((a, b) => a - b);
  const at = (share: number) => sorted[Math.floor(share * (sorted.length - 1))] ?? 0;
  return at(0.75) - at(0.25) > 60 ? null : at(0.5);
}
