/**
 * Where the player is, key by key. One cost for every position of the line, in nats: how unlikely it is that the
 * player is there. See README.md; the method is described in the backend's `listening/following.py`.
 */
import { type Hand, keyRow, type Line } from "./line";

const LEFT_OUT = 1.2;
const JUST_BACK = 2.0;
const BACK_NOTE = 0.07;
const TIE = 1e-9;
const SAME_PASS_GROUPS = 3;
const KEYS_REMEMBERED = 8;

const STAY = 0;
const STEP = 1;
const JUMP = 2;

/** What a key was; `note` is the note that it played or adorned, null when it was not as written. */
export interface Followed {
  asWritten: boolean;
  note: string | null;
  /** The player is not where the last key led. */
  jumped: boolean;
  nextRight: string | null;
  nextLeft: string | null;
}

export class Follower {
  private costs: Float64Array;
  private other: Float64Array;
  private readonly kinds: Uint8Array;
  /** -1 before the first written key. */
  private position = -1;
  private struck: ReadonlySet<string> = new Set();
  private lastKeys: readonly number[] = [];

  constructor(private readonly line: Line) {
    const size = line.group.length;
    this.costs = new Float64Array(size).fill(Number.POSITIVE_INFINITY);
    this.other = new Float64Array(size);
    this.kinds = new Uint8Array(size);
  }

  /** Takes a struck key. */
  hear(key: number): Followed {
    this.update(key);
    const before = this.position;
    const keysBefore = this.lastKeys;
    this.lastKeys = [...keysBefore, key].slice(-KEYS_REMEMBERED);
    this.position = this.least(before);
    if (this.position < 0) return { asWritten: false, note: null, jumped: false, ...this.next() };
    const jumped = before >= 0 && this.isJump(before);
    const stayed = before >= 0 && !jumped && this.groupOf(this.position) === this.groupOf(before);
    const struck = stayed ? this.struck : this.justStruck(keysBefore);
    const note = this.notePlayed(key, struck);
    this.struck = note === null ? struck : new Set([...struck, ...this.sounding(key)]);
    return { asWritten: note !== null, note, jumped, ...this.next() };
  }

  /** The note that comes next in each hand; null where a hand has no more. */
  next(): { nextRight: string | null; nextLeft: string | null } {
    return { nextRight: this.nextIn("right"), nextLeft: this.nextIn("left") };
  }

  /** The last written note lies behind. */
  atEnd(): boolean {
    const { nextRight, nextLeft } = this.next();
    return this.position >= 0 && nextRight === null && nextLeft === null;
  }

  private update(key: number): void {
    const { costs: old, other: fresh, kinds, line } = this;
    const row = keyRow(line, key);
    const lowest = old.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
    const least = Number.isFinite(lowest) ? lowest : 0;
    for (let layer = 0; layer + 1 < line.layerStarts.length; layer++) {
      const start = line.layerStarts[layer] as number;
      const end = line.layerStarts[layer + 1] as number;
      // The least cost at or after a position, as if the notes back from there were played again.
      let ahead = Number.POSITIVE_INFINITY;
      for (let i = end - 1; i >= start; i--) {
        ahead = Math.min(ahead + BACK_NOTE, old[i] as number);
        fresh[i] = (row.enter[i] as number) + Math.min(least, ahead - JUST_BACK);
      }
      // The least cost before a position, as if the notes from there were left out.
      let behind = Number.POSITIVE_INFINITY;
      for (let i = start; i < end; i++) {
        let best = behind + (row.take[i] as number);
        let kind = STEP;
        const stay = (old[i] as number) + (row.stay[i] as number);
        if (stay < best - TIE) {
          best = stay;
          kind = STAY;
        }
        if ((fresh[i] as number) < best - TIE) {
          best = fresh[i] as number;
          kind = JUMP;
        }
        fresh[i] = best;
        kinds[i] = kind;
        behind = Math.min(behind + LEFT_OUT, old[i] as number);
      }
    }
    this.costs = fresh;
    this.other = old;
  }

  /** The position of least cost, the one held where it is as good; -1 while nothing was as written. */
  private least(held: number): number {
    const bound = this.costs.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY) + TIE;
    if (bound === Number.POSITIVE_INFINITY) return -1;
    if (held >= 0 && (this.costs[held] as number) <= bound) return held;
    return this.costs.findIndex((cost) => cost <= bound);
  }

  /** Whether the position is not where playing on from the one before leads. */
  private isJump(before: number): boolean {
    const onsets = this.groupOf(this.position) - this.groupOf(before);
    return onsets < 0 || onsets > SAME_PASS_GROUPS || (onsets === 0 && this.kinds[this.position] === JUMP);
  }

  /** The notes of the group that the keys before struck: as many as lie before the position in its group. */
  private justStruck(keysBefore: readonly number[]): ReadonlySet<string> {
    let earlier = 0;
    while (!this.line.first[this.position - earlier]) earlier++;
    const keys = earlier ? keysBefore.slice(-earlier) : [];
    return new Set(this.members().flatMap((note) => (keys.includes(note.midi) ? [note.id] : [])));
  }

  private notePlayed(key: number, struck: ReadonlySet<string>): string | null {
    const stays = this.kinds[this.position] === STAY;
    if (!stays && this.line.layerKeys[this.position]?.has(key)) {
      const played = this.sounding(key);
      return played.find((id) => !struck.has(id)) ?? played[0] ?? null;
    }
    if (stays && this.line.ornamentKeys[this.position]?.has(key)) {
      const onset = this.members()[0]?.onset ?? 0;
      const adorned = this.line.notes.filter((note) => note.onset <= onset && note.ornamentKeys.includes(key));
      return adorned.at(-1)?.id ?? null;
    }
    return null;
  }

  private groupOf(position: number): number {
    return this.line.group[position] ?? 0;
  }

  private members() {
    return this.line.groups[this.groupOf(this.position)] ?? [];
  }

  private sounding(key: number): string[] {
    return this.members().flatMap((note) => (note.midi === key ? [note.id] : []));
  }

  private nextIn(hand: Hand): string | null {
    const { groups } = this.line;
    const here = this.position < 0 ? 0 : this.groupOf(this.position);
    for (let number = here; number < groups.length; number++) {
      const struck = number === here && this.position >= 0 ? this.struck : NOTHING;
      const note = groups[number]?.find((found) => found.hand === hand && !struck.has(found.id));
      if (note) return note.id;
    }
    return null;
  }
}

const NOTHING: ReadonlySet<string> = new Set();
