/** Measuring this device's latency: clicks are heard, any key is struck together with them. */
import { signal } from "@preact/signals";
import type { RawEvent } from "../../midi/messages";
import { keepLatency, loopLatency, type Measured } from "../../sound/latency";
import type { Playing, Speaker } from "../../sound/speaker";
import type { Sound } from "../../sound/timeline";

export const CLICKS = 8;
/** Two more come first, to find the beat. */
const LEAD_IN = 2;
const EVERY_S = 0.8;
/** After the last click a late key is still waited for. */
const ENDS_S = (LEAD_IN + CLICKS) * EVERY_S;

const SOUNDS: readonly Sound[] = Array.from({ length: LEAD_IN + CLICKS }, (_, i) => ({
  kind: "click",
  at: i * EVERY_S,
  weight: i < LEAD_IN ? "beat" : "measure",
}));

export class Measuring {
  readonly state = signal<"idle" | "running" | Measured["state"]>("idle");
  /** Keys struck so far. */
  readonly taps = signal<readonly number[]>([]);

  constructor(private readonly speaker: Speaker) {}

  async start(): Promise<void> {
    this.state.value = "running";
    this.taps.value = [];
    const playing = await this.speaker.play(SOUNDS, ENDS_S, { end: () => this.finish(playing) });
  }

  /** A key went down. */
  hear(event: RawEvent): void {
    if (this.state.value === "running") this.taps.value = [...this.taps.value, event[0]];
  }

  /** Gives up a measurement that runs. */
  stop(): void {
    if (this.state.value !== "running") return;
    this.speaker.stop();
    this.state.value = "idle";
  }

  private finish(playing: Playing): void {
    const clicks = SOUNDS.slice(LEAD_IN).map(({ at }) => playing.pageTime(at));
    const found = loopLatency(clicks, this.taps.value);
    if (found.state === "measured") keepLatency(found.ms);
    this.state.value = found.state;
  }
}
