/** The instrument: recorded strings where they are loaded, a synthesised one until then. */
import { playbackRate, type Sample, sampleFor, samplesFor } from "./samples";

/** Loudness of a key struck with velocity 127; moderate, for ears in headphones. */
const LOUDEST = 0.8;
const RELEASE = 0.12;

export interface Sounding {
  /** Lets the key go at an audio time in seconds. */
  release(at: number): void;
}

/** MIDI velocity to gain: 40 log10(v/127) dB, that is the square, as General MIDI 2 recommends (value from memory). */
export function gainOf(velocity: number): number {
  return LOUDEST * (Math.min(127, Math.max(0, velocity)) / 127) ** 2;
}

export class Piano {
  private readonly buffers = new Map<string, AudioBuffer>();
  private readonly loading = new Map<string, Promise<void>>();

  constructor(
    private readonly context: BaseAudioContext,
    private readonly destination: AudioNode,
    private readonly fetchBytes: (url: string) => Promise<ArrayBuffer> = fetchSample,
  ) {}

  /** Loads what a passage needs; resolves to false when a recording could not be had (the synthesised string serves). */
  async load(keys: Iterable<number>): Promise<boolean> {
    const results = await Promise.allSettled(samplesFor(keys).map((sample) => this.fetch(sample)));
    return results.every((result) => result.status === "fulfilled");
  }

  /** Sounds a key from `at` (audio seconds) until it is released. */
  strike(midi: number, velocity: number, at: number): Sounding {
    const sample = sampleFor(midi);
    const buffer = this.buffers.get(sample.url);
    const envelope = new GainNode(this.context, { gain: gainOf(velocity) });
    envelope.connect(this.destination);
    const source = buffer
      ? new AudioBufferSourceNode(this.context, { buffer, playbackRate: playbackRate(midi, sample.midi) })
      : this.string(midi, at, envelope);
    source.connect(envelope);
    source.start(at);
    return {
      release: (end) => {
        envelope.gain.setTargetAtTime(0, end, RELEASE / 3);
        source.stop(end + RELEASE * 2);
      },
    };
  }

  /** Sounds a key for `lasts` seconds. */
  play(midi: number, velocity: number, at: number, lasts: number): void {
    this.strike(midi, velocity, at).release(at + lasts);
  }

  private fetch(sample: Sample): Promise<void> {
    const known = this.loading.get(sample.url);
    if (known) return known;
    const loaded = this.fetchBytes(sample.url)
      .then((bytes) => this.context.decodeAudioData(bytes))
      .then((buffer) => void this.buffers.set(sample.url, buffer));
    this.loading.set(sample.url, loaded);
    // A failed download may be tried again when the network is back.
    loaded.catch(() => this.loading.delete(sample.url));
    return loaded;
  }

  /** A struck string from a few harmonics that die away, higher ones first. */
  private string(midi: number, at: number, envelope: GainNode): OscillatorNode {
    const harmonics = Float32Array.from([0, 1, 0.5, 0.28, 0.16, 0.08, 0.05]);
    const wave = this.context.createPeriodicWave(new Float32Array(harmonics.length), harmonics);
    const oscillator = new OscillatorNode(this.context, { frequency: 440 * 2 ** ((midi - 69) / 12) });
    oscillator.setPeriodicWave(wave);
    envelope.gain.setTargetAtTime(0, at, 1.2);
    return oscillator;
  }
}

async function fetchSample(url: string): Promise<ArrayBuffer> {
  const response = await fetch(url);
  if (!response.ok) throw new Error(`${url}: ${response.status}`);
  return response.arrayBuffer();
}
