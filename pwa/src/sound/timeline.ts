/**
 * From score time to seconds: what is heard in one playing of a drill, as a list of sounds in time order.
 *
 * Second 0 is the first click of the count-in, or the first note where there is none.
 */

export type Hand = "right" | "left";

export interface ScoreNote {
  id: string;
  hand: Hand;
  midi: number;
  /** Quarters from the start of the piece. */
  onset: number;
  /** Quarters. */
  duration: number;
}

export interface Meter {
  /** Upper and lower figure of the time signature. */
  beats: number;
  unit: number;
}

export interface Passage {
  notes: readonly ScoreNote[];
  /** Onset of every measure in quarters, the first at the start of the passage. */
  measureOnsets: readonly number[];
  /** End of the last measure in quarters. */
  end: number;
  meter: Meter;
}

export interface Heard {
  hands: readonly Hand[];
  metronome: boolean;
  /** Clicks inside a beat: 1 for none, 2 for halves, 3 for thirds. */
  subdivision: 1 | 2 | 3;
  countIn: boolean;
}

export type Sound =
  | { kind: "note"; at: number; lasts: number; midi: number; id: string; hand: Hand }
  | { kind: "click"; at: number; weight: "measure" | "beat" | "inner" };

export interface Timeline {
  sounds: readonly Sound[];
  /** When the passage itself begins, in seconds. */
  musicAt: number;
  /** When the last measure is over, in seconds. */
  endsAt: number;
}

/** A detached end lets a repeated key sound again. */
const NOTE_SHARE = 0.95;

/** Length of a beat in quarters: compound meters (6/8, 9/8, 12/8) beat in dotted values. */
export function beatQuarters(meter: Meter): number {
  const unit = 4 / meter.unit;
  return meter.unit >= 8 && meter.beats % 3 === 0 && meter.beats > 3 ? unit * 3 : unit;
}

/** Seconds that a length in quarters lasts at a tempo in quarters a minute. */
export function seconds(quarters: number, tempo: number): number {
  return (quarters * 60) / tempo;
}

/** Everything that sounds, in time order. `tempo` is in quarters a minute. */
export function timeline(passage: Passage, tempo: number, heard: Heard): Timeline {
  const start = passage.measureOnsets[0] ?? 0;
  const lead = heard.countIn ? countInQuarters(passage) : 0;
  const at = (quarter: number) => seconds(quarter - start + lead, tempo);
  const sounds: Sound[] = [...countIn(passage, lead, tempo, heard.countIn)];
  for (const note of passage.notes) {
    if (!heard.hands.includes(note.hand)) continue;
    const lasts = seconds(note.duration, tempo) * NOTE_SHARE;
    sounds.push({ kind: "note", at: at(note.onset), lasts, midi: note.midi, id: note.id, hand: note.hand });
  }
  if (heard.metronome) sounds.push(...metronome(passage, heard.subdivision, at));
  sounds.sort((a, b) => a.at - b.at);
  return { sounds, musicAt: at(start), endsAt: at(passage.end) };
}

/** A full measure is counted, and before a pickup also the beats that its own measure lacks. */
function countInQuarters(passage: Passage): number {
  const measure = (passage.meter.beats * 4) / passage.meter.unit;
  const [first = 0, second = passage.end] = passage.measureOnsets;
  return measure + Math.max(0, measure - (second - first));
}

function* countIn(passage: Passage, lead: number, tempo: number, wanted: boolean): Generator<Sound> {
  if (!wanted) return;
  const beat = beatQuarters(passage.meter);
  const measure = (passage.meter.beats * 4) / passage.meter.unit;
  for (let quarter = 0; quarter < lead - 1e-9; quarter += beat) {
    const weight = isMultiple(quarter, measure) ? "measure" : "beat";
    yield { kind: "click", at: seconds(quarter, tempo), weight };
  }
}

function* metronome(passage: Passage, subdivision: number, at: (quarter: number) => number): Generator<Sound> {
  const beat = beatQuarters(passage.meter);
  const measure = (passage.meter.beats * 4) / passage.meter.unit;
  for (const [index, onset] of passage.measureOnsets.entries()) {
    const next = passage.measureOnsets[index + 1] ?? passage.end;
    // A pickup ends on its barline, so its beats are counted from there.
    const origin = index === 0 ? Math.min(onset, next - measure) : onset;
    for (let click = 0; origin + (click * beat) / subdivision < next - 1e-9; click++) {
      const quarter = origin + (click * beat) / subdivision;
      if (quarter < onset - 1e-9) continue;
      const weight = click === 0 ? "measure" : click % subdivision === 0 ? "beat" : "inner";
      yield { kind: "click", at: at(quarter), weight };
    }
  }
}

function isMultiple(value: number, of: number): boolean {
  return Math.abs(value / of - Math.round(value / of)) < 1e-6;
}
