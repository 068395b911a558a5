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
