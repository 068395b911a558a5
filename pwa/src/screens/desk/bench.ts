/**
 * One try at the piano, from the count-in to what is sent: the state that the desk shows, and the wiring of
 * keyboard, sound and follower behind it. No markup here.
 *
 * ready → (hearing → ready) → counting → playing → sending → told | waiting | refused; where nothing listens,
 * playing → judging → sending.
 */
import { batch, computed, type Signal, signal } from "@preact/signals";
import type { AttemptPage, Drill, Finding, Step } from "../../api/types";
import type { Availability } from "../../midi/keyboards";
import { type RawEvent, read } from "../../midi/messages";
import { holdUpdates } from "../../offline/update";
import type { LiveMarks } from "../../score/live";
import { type Playing, Speaker } from "../../sound/speaker";
import { beatQuarters, seconds, timeline } from "../../sound/timeline";
import { type Judgement, sendAttempt } from "./attempt";
import { type Against, lookAtClicks } from "./clicks";
import { difference } from "./difference";
import {
  heardAsModel,
  heardWhilePlaying,
  ownNotes,
  passageOf,
  type Settings,
  settingsFor,
  transposed,
} from "./drill";
import { ending } from "./ending";
import { Following, type PianoHint } from "./following";
import { Measuring } from "./measuring";
import { BrowserSource, PairedSource } from "./source";
import { Tuning } from "./tuning";

export type Phase =
  | "ready"
  | "hearing"
  | "counting"
  | "playing"
  | "judging"
  | "sending"
  | "told"
  | "waiting"
  | "refused";

export type Hint = "nothing-heard" | "unplugged" | "clock-jumped" | "set-so" | "not-set-so" | PianoHint | null;

const WATCH_EVERY_MS = 200;
const STALLED_MS = 1000;

export class Bench {
  readonly phase = signal<Phase>("ready");
  readonly settings: Signal<Settings>;
  readonly keyboard = signal<Availability | "asking" | "not-asked">("asking");
  readonly pairing = signal<{ code: string; joined: boolean } | null>(null);
  readonly hint = signal<Hint>(null);
  readonly tuning = new Tuning();
  /** Beats of the count-in that are still to come. */
  readonly countLeft = signal(0);
  readonly result = signal<AttemptPage | null>(null);
  /** What was found in the latest try; how the piano is set is no news where that is known or asked about. */
  readonly findings = computed<readonly Finding[]>(() => {
    const { by, asked } = this.tuning;
    const known = by.value !== 0 || asked.value !== 0;
    const found = this.result.value?.findings ?? [];
    return found.filter((finding) => !(known && finding.kind.startsWith("transposed")));
  });
  /** Where the latest try lay against the metronome; null where that cannot be said. */
  readonly clicks = signal<Against | null>(null);
  readonly refusal = signal("");
  /** Sounds the student's keys here: for a piano whose own sound is off (local off). */
  readonly soundKeys = signal(false);
  /** Sends what the page plays to the piano. */
  readonly soundThere = signal(false);
  readonly listening = computed(() => this.keyboard.value === "ready" || this.pairing.value?.joined === true);
  private readonly counting = computed(() => this.phase.value === "counting");

  readonly browser = new BrowserSource();
  readonly speaker = new Speaker(
    {
      wanted: () => this.soundThere.value,
      send: (bytes, ms) => this.browser.keyboards.send(bytes, ms),
    },
    () => {
      this.hint.value = "clock-jumped";
    },
  );
  readonly measuring = new Measuring(this.speaker);
  private readonly paired = new PairedSource();
  private readonly following: Following;
  private events: RawEvent[] = [];
  private keysDown = 0;
  private lastEventAt: number | null = null;
  private startedAt = 0;
  /** When the passage is to begin, in milliseconds of the page's clock; the longer sound runs, the surer. */
  private musicAt: () => number = () => 0;
  private watch: ReturnType<typeof setInterval> | undefined;
  private lookedAt = 0;
  private opened: Promise<void> = Promise.resolve();
  private releaseUpdates: () => void = () => undefined;
  private changed = false;

  constructor(
    readonly drill: Drill,
    readonly step: Step,
  ) {
    this.settings = signal(settingsFor(drill, step, false));
    this.following = new Following(drill, step, this.tuning);
  }

  /** The drill as it sounds on this piano. */
  private get sounding(): Drill {
    return transposed(this.drill, this.tuning.by.value);
  }

  /** Listens to the keyboard where that was allowed before; a permission is asked for at a tap only. */
  open(): Promise<void> {
    this.opened = this.lookForKeyboard();
    return this.opened;
  }

  private async lookForKeyboard(): Promise<void> {
    const { keyboards } = this.browser;
    if (!keyboards.supported) this.keyboard.value = "unsupported";
    else if (await keyboards.isAllowed()) await this.listenToKeyboard();
    else this.keyboard.value = "not-asked";
  }

  /** Asks for the keyboard. The metronome is on only where nothing listens. */
  async listenToKeyboard(): Promise<void> {
    this.keyboard.value = "asking";
    this.keyboard.value = await this.browser.open({
      onEvent: (event) => this.heard(event),
      onChange: (lost) => this.keyboardsChanged(lost),
    });
    this.tuning.useFor(this.browser.keyboards.listenedTo());
    if (!this.changed) this.settings.value = settingsFor(this.drill, this.step, this.listening.value);
  }

  /** Listens to one keyboard of several. */
  choose(id: string): void {
    this.browser.keyboards.choose(id);
    this.tuning.useFor(this.browser.keyboards.listenedTo());
  }

  close(): void {
    this.quiet();
    this.releaseUpdates();
    this.speaker.close();
    this.browser.close();
    this.paired.close();
  }

  /** Where live marks are shown. */
  showOn(marks: LiveMarks | null): void {
    this.following.showOn(marks);
  }

  change(part: Partial<Settings>): void {
    this.changed = true;
    this.settings.value = { ...this.settings.value, ...part };
  }

  /** Opens a pairing with a computer at the piano; its code is to be typed there. */
  async pair(): Promise<void> {
    const { code } = await this.paired.open({
      onEvent: (event) => this.heard(event),
      onChange: (lost) => {
        this.pairing.value = lost ? null : { code, joined: true };
        if (!lost) this.tuning.useFor("paired");
        if (lost) this.lost();
      },
    });
    this.pairing.value = { code, joined: false };
  }

  /** Plays the passage as written and shows it on the score. */
  async hear(): Promise<void> {
    const hands = this.step.kind === "listen" ? "both" : this.step.hands;
    const line = timeline(
      passageOf(this.sounding),
      this.settings.value.tempo,
      heardAsModel(this.settings.value, hands),
    );
    this.measuring.stop();
    this.phase.value = "hearing";
    this.startedAt = Date.now();
    await this.speaker.play(line.sounds, line.endsAt, {
      note: ({ id }) => this.following.show([id]),
      end: () => this.heardOut(),
    });
  }

  /** Counts in and begins to listen. */
  async play(): Promise<void> {
    await this.opened;
    if (this.keyboard.value === "not-asked") await this.listenToKeyboard();
    // Pressed twice while the browser was still asked.
    if (this.counting.value) return;
    this.measuring.stop();
    this.begin();
    const line = timeline(
      passageOf(this.sounding),
      this.settings.value.tempo,
      heardWhilePlaying(this.settings.value),
    );
    const playing = await this.speaker.play(line.sounds, line.endsAt, { end: () => undefined });
    // Stopped while the sound was still being prepared.
    if (!this.counting.value) return this.quiet();
    this.count(playing, line.musicAt);
    this.musicAt = () => playing.pageTime(line.musicAt);
    const endsAt = playing.pageTime(line.endsAt);
    this.watch = setInterval(() => this.look(endsAt), WATCH_EVERY_MS);
  }

  /** Stops what sounds or is being played; what was played so far counts. */
  stop(): void {
    const { value } = this.phase;
    if (value === "hearing") this.rest(null);
    if (value === "counting") this.rest(null);
    if (value === "playing") void this.finish();
  }

  judge(judgement: Judgement): void {
    void this.send("self-judged", judgement);
  }

  again(): void {
    this.phase.value = "ready";
  }

  /** Sounds what was played in a measure of the latest try, then what is written there; false where nothing was. */
  async hearDifference(measure: number): Promise<boolean> {
    const report = this.result.value?.assessment;
    const bar = this.drill.measures.find((found) => found.number === measure);
    if (!report || !bar) return false;
    const within = (onset: number) => onset >= bar.onset && onset < bar.onset + bar.length;
    const written = ownNotes(this.sounding, this.step).filter((note) => within(note.onset));
    const heard = difference(report, this.events, written, this.settings.value.tempo);
    if (heard) await this.speaker.play(heard.sounds, heard.endsAt, { end: () => this.speaker.stop() });
    return heard !== null;
  }

  /** Sounds one note of the score. */
  tap(id: string): void {
    const note = this.sounding.notes.find((known) => known.id === id || known.heads.includes(id));
    if (note && this.phase.value !== "playing") void this.speaker.strike(note.midi);
  }

  /** The student says whether the piano is meant to be set as it sounds. */
  answerTuning(meant: boolean): void {
    this.tuning.answer(meant);
    this.hint.value = meant ? "set-so" : "not-set-so";
    if (this.phase.value === "playing") this.following.again();
  }

  private begin(): void {
    batch(() => {
      this.result.value = null;
      this.clicks.value = null;
      this.hint.value = null;
      this.phase.value = "counting";
    });
    this.events = [];
    this.keysDown = 0;
    this.lastEventAt = null;
    this.startedAt = Date.now();
    this.releaseUpdates = holdUpdates();
    this.following.begin();
  }

  /** Numbers the beats of the count-in, for those who read better than they hear. */
  private count(playing: Playing, musicAt: number): void {
    const beat = seconds(beatQuarters(passageOf(this.drill).meter), this.settings.value.tempo);
    const beats = Math.round(musicAt / beat);
    this.countLeft.value = beats;
    for (let gone = 1; gone < beats; gone++) {
      playing.when(gone * beat, () => {
        this.countLeft.value = beats - gone;
      });
    }
    playing.when(musicAt, () => this.listen());
  }

  private listen(): void {
    this.countLeft.value = 0;
    if (this.phase.value === "counting") this.phase.value = "playing";
  }

  private heard(event: RawEvent): void {
    const message = read(event[1], event[2], event[3]);
    if (!message) return;
    if (this.soundKeys.value) this.speaker.echo(message);
    if (message.kind === "down") this.measuring.hear(event);
    if (this.phase.value !== "playing" && this.phase.value !== "counting") return;
    this.events.push(event);
    this.lastEventAt = performance.now();
    if (message.kind === "up") this.keysDown = Math.max(0, this.keysDown - 1);
    if (message.kind !== "down") return;
    this.keysDown++;
    this.listen();
    this.hint.value = this.following.hear(message.midi) ?? this.hint.value;
  }

  private keyboardsChanged(lost: boolean): void {
    this.keyboard.value = this.browser.keyboards.availability();
    this.tuning.useFor(this.browser.keyboards.listenedTo());
    if (lost) this.lost();
  }

  private lost(): void {
    this.hint.value = "unplugged";
    this.keysDown = 0;
  }

  private look(endsAt: number): void {
    const now = performance.now();
    const stalled = now - this.lookedAt > STALLED_MS;
    this.lookedAt = now;
    // A page that stood still has keys in its queue that it has not been told of.
    if (stalled) return;
    if (!this.listening.value && this.lastEventAt === null) {
      if (now > endsAt + 500) this.unheard();
      return;
    }
    const measureMs = seconds(this.drill.measures[0]?.length ?? 4, this.settings.value.tempo) * 1000;
    const { lastEventAt, keysDown } = this;
    const found = ending({
      now,
      musicAt: this.musicAt(),
      measureMs,
      lastEventAt,
      keysDown,
      reachedEnd: this.following.atEnd(),
    });
    if (found === "never-began") this.rest("nothing-heard");
    else if (found !== "goes-on") void this.finish();
  }

  /** The passage was listened to: that is what a listening step asks for. */
  private heardOut(): void {
    this.quiet();
    if (this.step.kind === "listen") void this.send("self-judged", { notes: 3, rhythm: 3, flow: 3 });
    else this.rest(null);
  }

  /** The passage is over and nothing listened: the student judges. */
  private unheard(): void {
    this.quiet();
    this.phase.value = "judging";
  }

  private rest(hint: Hint): void {
    this.quiet();
    this.releaseUpdates();
    this.phase.value = "ready";
    this.hint.value = hint ?? this.hint.value;
  }

  private async finish(): Promise<void> {
    this.quiet();
    if (this.events.length > 0) await this.send(this.pairing.value?.joined ? "paired" : "web-midi");
    else if (this.listening.value) this.rest("nothing-heard");
    else this.unheard();
  }

  private quiet(): void {
    this.speaker.stop();
    clearInterval(this.watch);
    this.countLeft.value = 0;
    this.following.clear();
  }

  private async send(source: "web-midi" | "paired" | "self-judged", judgement?: Judgement): Promise<void> {
    this.phase.value = "sending";
    const { events, settings, drill } = this;
    const tried = { drill, settings: settings.value, events, musicAt: this.musicAt() };
    const played = { startedAt: this.startedAt, events, tempo: settings.value.tempo };
    const outcome = await sendAttempt(this.drill, this.step, { ...played, source, judgement });
    this.releaseUpdates();
    batch(() => {
      this.result.value = outcome.state === "arrived" ? outcome.answer : null;
      const report = source === "web-midi" && this.hint.value !== "clock-jumped" && this.result.value?.assessment;
      this.clicks.value = report ? lookAtClicks(report, tried) : null;
      this.refusal.value = outcome.state === "refused" ? outcome.sentence : "";
      this.phase.value = outcome.state === "arrived" ? "told" : outcome.state;
    });
  }
}
