/** What a screen makes heard: a timeline of sounds, the student's own keys, single notes; here or on the piano. */
import { type KeyMessage, noteOff, noteOn } from "../midi/messages";
import { click } from "./click";
import { heardAt, heardNow } from "./clock";
import { soundLagMs } from "./latency";
import { Piano, type Sounding } from "./piano";
import { audioClock, type Running, schedule } from "./scheduler";
import type { Sound } from "./timeline";

/** How loud the page plays along: softer than a student would. */
const ALONG_VELOCITY = 64;
/** How long the first sound may wait for recordings that are still on their way. */
const LOADING_MS = 1500;
/** Between the tap and the first sound, in seconds. */
const LEAD = 0.1;

type Note = Sound & { kind: "note" };

export interface Playing {
  /** The page's time in milliseconds at which second `at` of the timeline is heard, as the browser reckons it. */
  pageTime(at: number): number;
  /** Does `work` when second `at` of the timeline is heard on this device, unless it was stopped before. */
  when(at: number, work: () => void): void;
}

/** The student's own piano, which can sound what the page plays. */
export interface Outlet {
  wanted(): boolean;
  /** Hands a MIDI message over, to be played at the page's time `ms`; false where no piano takes it. */
  send(bytes: number[], ms: number): boolean;
}

export class Speaker {
  private context: AudioContext | null = null;
  private piano: Piano | null = null;
  private running: Running | null = null;
  /** Counts what was wanted, so that what comes late does not sound over what came after it. */
  private turn = 0;
  private readonly own = new Map<number, Sounding>();

  constructor(
    private readonly outlet: Outlet | null = null,
    /** Called when the audio clock jumped and sounds were left out. */
    private readonly onJump: () => void = () => undefined,
  ) {}

  /** Plays a timeline from the beginning; what sounded before stops. Must come from a tap (browsers ask for one). */
  async play(
    sounds: readonly Sound[],
    endsAt: number,
    on: { note?: (note: Note) => void; end: () => void },
  ): Promise<Playing> {
    this.stop();
    const turn = this.turn;
    const context = await this.ready(sounds.flatMap((sound) => (sound.kind === "note" ? [sound.midi] : [])));
    const origin = context.currentTime + LEAD;
    const playing = this.playing(origin);
    // Stopped, or something else was wanted, while the recordings were on their way.
    if (turn !== this.turn) return playing;
    const emit = (sound: Sound, at: number) => {
      if (sound.kind === "click") return click(context, context.destination, at, sound.weight);
      if (on.note) playing.when(sound.at, () => on.note?.(sound));
      this.note(sound, at);
    };
    const options = { origin, endsAt, onEnd: on.end, onJump: this.onJump };
    this.running = schedule(audioClock(context), { play: emit }, sounds, options);
    return playing;
  }

  stop(): void {
    this.turn += 1;
    this.running?.stop();
    this.running = null;
  }

  /** Sounds one key shortly. */
  async strike(midi: number): Promise<void> {
    const context = await this.ready([midi]);
    this.piano?.play(midi, ALONG_VELOCITY, context.currentTime, 0.8);
  }

  /** Sounds what the student plays: for a piano whose own sound is off (local off). */
  echo(message: KeyMessage): void {
    const at = this.context?.currentTime ?? 0;
    if (message.kind === "pedal") return;
    this.own.get(message.midi)?.release(at);
    this.own.delete(message.midi);
    if (message.kind === "down" && this.piano) {
      this.own.set(message.midi, this.piano.strike(message.midi, message.velocity, at));
    }
  }

  close(): void {
    this.stop();
    void this.context?.close();
    this.context = null;
  }

  /** Recordings that are not there in time are replaced by the synthesised string. */
  private async ready(keys: readonly number[]): Promise<AudioContext> {
    this.context ??= new AudioContext({ latencyHint: "interactive" });
    this.piano ??= new Piano(this.context, this.context.destination);
    const late = new Promise((resolve) => setTimeout(resolve, LOADING_MS));
    await Promise.race([Promise.all([this.context.resume(), this.piano.load(keys)]), late]);
    return this.context;
  }

  private playing(origin: number): Playing {
    const pageTime = (at: number) => heardAt(origin + at, heardNow(this.context as AudioContext));
    const when = (at: number, work: () => void) => {
      const wait = pageTime(at) + soundLagMs() - performance.now();
      setTimeout(() => this.running?.origin === origin && work(), Math.max(0, wait));
    };
    return { pageTime, when };
  }

  private note(note: Note, at: number): void {
    if (!this.outlet?.wanted() || !this.sendTo(this.outlet, note, at)) {
      this.piano?.play(note.midi, ALONG_VELOCITY, at, note.lasts);
    }
  }

  private sendTo(outlet: Outlet, note: Note, at: number): boolean {
    const ms = heardAt(at, heardNow(this.context as AudioContext)) + soundLagMs();
    if (!outlet.send(noteOn(note.midi, ALONG_VELOCITY), ms)) return false;
    return outlet.send(noteOff(note.midi), ms + note.lasts * 1000);
  }
}
