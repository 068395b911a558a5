/**
 * A piano that is set higher or lower than it is written: the student is asked once, the answer is kept for that
 * keyboard on this device, and the settings can take it back. What is sent to the studio stays as it was played.
 */
import { signal } from "@preact/signals";
import type { Memory } from "../../midi/keyboards";

const KEPT = "counterpane.transposed";

/** Keyboards and intervals that were said not to be meant, until the page is closed. */
const declined = new Set<string>();

export class Tuning {
  /** Semitones by which everything on this keyboard sounds higher than written. */
  readonly by = signal(0);
  /** The interval that is being asked about; 0 where nothing is. */
  readonly asked = signal(0);
  private keyboard = "";

  constructor(private readonly memory: Memory = localStorage) {}

  /** From now on this keyboard is heard: what was kept for it holds. */
  useFor(keyboard: string): void {
    this.keyboard = keyboard;
    this.by.value = this.kept()[keyboard] ?? 0;
    this.asked.value = 0;
  }

  /** The keys of a try sound `semitones` higher than written. True where the piano was set back in between. */
  heard(semitones: number): boolean {
    if (semitones === this.by.value) return false;
    if (semitones === 0) this.keep(0);
    else if (!declined.has(this.named(semitones))) this.asked.value = semitones;
    return semitones === 0;
  }

  answer(meant: boolean): void {
    const semitones = this.asked.value;
    if (meant) this.keep(semitones);
    else declined.add(this.named(semitones));
    this.asked.value = 0;
  }

  /** Takes `semitones` for the setting of this keyboard; 0 for one that sounds as written. */
  keep(semitones: number): void {
    const { [this.keyboard]: _, ...others } = this.kept();
    const all = semitones === 0 ? others : { ...others, [this.keyboard]: semitones };
    this.memory.setItem(KEPT, JSON.stringify(all));
    this.by.value = semitones;
  }

  private kept(): Record<string, number> {
    return JSON.parse(this.memory.getItem(KEPT) ?? "{}");
  }

  private named(semitones: number): string {
    return `${semitones} ${this.keyboard}`;
  }
}
