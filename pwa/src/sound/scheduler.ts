/**
 * Hands sounds to the audio clock a little ahead of time, so that a busy page does not make them late.
 *
 * The page's timer only decides when to look; the times themselves are the audio clock's. When that clock jumps
 * (the tablet slept), what was missed is dropped rather than played all at once, and the listener is told.
 */
import type { Sound } from "./timeline";

/** How far ahead sounds are handed over, and how often we look, in seconds. */
const AHEAD = 0.2;
const EVERY = 0.05;
/** A sound later than this is dropped. */
const TOO_LATE = 0.15;

export interface Clock {
  /** Seconds of the audio clock. */
  now(): number;
  /** Calls `look` again and again until the returned function is called. */
  every(periodS: number, look: () => void): () => void;
}

export interface Player {
  play(sound: Sound, at: number): void;
}

export interface Running {
  /** Audio time of the timeline's second 0. */
  readonly origin: number;
  stop(): void;
}

/**
 * Plays `sounds` from `origin` (audio seconds). `onEnd` is called once, when `endsAt` (seconds of the timeline)
 * has passed; `onJump` when sounds had to be dropped.
 */
export function schedule(
  clock: Clock,
  player: Player,
  sounds: readonly Sound[],
  options: { origin: number; endsAt: number; onEnd?: () => void; onJump?: () => void },
): Running {
  const { origin, endsAt } = options;
  let next = 0;
  const look = () => {
    const now = clock.now();
    let dropped = false;
    for (let sound = sounds[next]; sound && origin + sound.at < now + AHEAD; sound = sounds[++next]) {
      const at = origin + sound.at;
      if (at < now - TOO_LATE) dropped = true;
      else player.play(sound, Math.max(at, now));
    }
    if (dropped) options.onJump?.();
    if (now >= origin + endsAt) {
      cancel();
      options.onEnd?.();
    }
  };
  const cancel = clock.every(EVERY, look);
  look();
  return { origin, stop: cancel };
}

/** The audio clock of a context with the page's timer. */
export function audioClock(context: BaseAudioContext): Clock {
  return {
    now: () => context.currentTime,
    every(periodS, look) {
      const timer = setInterval(look, periodS * 1000);
      return () => clearInterval(timer);
    },
  };
}
