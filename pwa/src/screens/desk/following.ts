/** What the score shows while somebody plays: what was just played and what comes next; and how the piano is set. */
import type { Drill, Hand, Step } from "../../api/types";
import { Follower } from "../../following/follower";
import { ENOUGH_KEYS, octaveApart, transposedBy } from "../../following/transposition";
import type { LiveMarks } from "../../score/live";
import { lineApart, lineOf } from "./drill";
import type { Tuning } from "./tuning";

/** What the first keys of a try say of the piano, besides what `Tuning` asks about. */
export type PianoHint = "set-back" | "right-octave" | "left-octave";

export class Following {
  private readonly line;
  private follower: Follower;
  private keys: number[] = [];
  private marks: LiveMarks | null = null;

  constructor(
    private readonly drill: Drill,
    private readonly step: Step,
    private readonly tuning: Tuning,
  ) {
    this.line = lineOf(drill, step);
    this.follower = new Follower(this.line);
  }

  /** Where live marks are shown. */
  showOn(marks: LiveMarks | null): void {
    this.marks = marks;
  }

  begin(): void {
    this.keys = [];
    this.follower = new Follower(this.line);
    this.showNext();
  }

  /** Takes a struck key. */
  hear(midi: number): PianoHint | null {
    this.keys.push(midi);
    this.mark(midi);
    const found = this.keys.length === ENOUGH_KEYS ? this.lookAtPiano() : null;
    this.showNext();
    return found;
  }

  /** Follows the keys of this try once more, as the piano is now known to be set. */
  again(): void {
    this.marks?.clear();
    this.follower = new Follower(this.line);
    for (const midi of this.keys) this.mark(midi);
    this.showNext();
  }

  /** These notes sound now. */
  show(ids: readonly string[]): void {
    this.marks?.next(ids);
  }

  clear(): void {
    this.marks?.clear();
  }

  /** The last written note has been played. */
  atEnd(): boolean {
    return this.follower.atEnd();
  }

  private mark(midi: number): void {
    const { note } = this.follower.hear(midi - this.tuning.by.value);
    if (note) this.marks?.mark([note]);
  }

  private showNext(): void {
    const { nextRight, nextLeft } = this.follower.next();
    this.show([nextRight, nextLeft].filter((id) => id !== null));
  }

  private lookAtPiano(): PianoHint | null {
    const semitones = transposedBy(this.line, this.keys);
    if (semitones !== null) {
      if (!this.tuning.heard(semitones)) return null;
      this.again();
      return "set-back";
    }
    const apart = (hand: Hand, by: number) => lineApart(this.drill, this.step, hand, by);
    const hand = this.step.hands === "both" ? octaveApart(apart, this.keys) : null;
    return hand && `${hand}-octave`;
  }
}
