/** What one step of a ladder asks for, in the terms of the sound, the follower and the server. */
import type { Drill, Hands, Step } from "../../api/types";
import { type Line, prepare } from "../../following/line";
import type { Hand, Heard, Passage } from "../../sound/timeline";

export interface Settings {
  /** Quarters a minute. */
  tempo: number;
  metronome: boolean;
  subdivision: 1 | 2 | 3;
  countIn: boolean;
  /** Hands that the page plays along. */
  along: readonly Hand[];
}

export const SLOWEST = 10;
export const FASTEST = 400;

export function handsOf(hands: Hands): readonly Hand[] {
  return hands === "both" ? ["right", "left"] : [hands];
}

/** What the page plays along by itself: the hand that the student does not play, where the step says so. */
export function alongOf(step: Step): readonly Hand[] {
  const own = handsOf(step.hands);
  const all = handsOf("both");
  if (step.heard === "both") return all;
  return step.heard === "other" ? all.filter((hand) => !own.includes(hand)) : [];
}

/** The settings a step begins with; without a keyboard the metronome stays on, since nothing else keeps time. */
export function settingsFor(drill: Drill, step: Step, listening: boolean): Settings {
  return {
    tempo: clampTempo(drill.goal_tempo * step.tempo_share),
    metronome: !listening,
    subdivision: 1,
    countIn: true,
    along: alongOf(step),
  };
}

export function clampTempo(tempo: number): number {
  return Math.round(Math.min(FASTEST, Math.max(SLOWEST, tempo)));
}

/** The passage as it sounds: both hands, so that either can be heard. */
export function passageOf(drill: Drill): Passage {
  const [first] = drill.measures;
  const meter = drill.measures.find((measure) => measure.padding === 0) ?? first;
  return {
    notes: drill.notes,
    measureOnsets: drill.measures.map((measure) => measure.onset),
    end: Math.max(...drill.measures.map((measure) => measure.onset + measure.length)),
    meter: { beats: meter?.beats ?? 4, unit: meter?.beat_unit ?? 4 },
  };
}

/** The drill as it sounds on a piano that is set some semitones higher than written. */
export function transposed(drill: Drill, semitones: number): Drill {
  if (semitones === 0) return drill;
  return { ...drill, notes: drill.notes.map((note) => ({ ...note, midi: note.midi + semitones })) };
}

/** The line with the notes of one hand moved by some semitones. */
export function lineApart(drill: Drill, step: Step, hand: Hand, semitones: number): Line {
  const notes = drill.notes.map((note) => (note.hand === hand ? { ...note, midi: note.midi + semitones } : note));
  return lineOf({ ...drill, notes }, step);
}

/** The notes that the student plays. */
export function ownNotes(drill: Drill, step: Step): Drill["notes"] {
  const hands = handsOf(step.hands);
  return drill.notes.filter((note) => hands.includes(note.hand));
}

/** The student's notes as the follower wants them, with the keys that a written ornament may strike besides. */
export function lineOf(drill: Drill, step: Step): Line {
  const notes = ownNotes(drill, step).map((note) => {
    const around = note.ornaments.length > 0 ? AROUND.map((semitones) => note.midi + semitones) : [];
    const ornamentKeys = [
      ...around,
      ...drill.graces.filter((grace) => grace.principal === note.id).map((grace) => grace.midi),
    ];
    return { id: note.id, hand: note.hand, onset: note.onset, midi: note.midi, ornamentKeys };
  });
  return prepare(
    notes,
    drill.measures.map((measure) => measure.onset),
  );
}

/** A trill, turn or mordent moves within a whole tone of its note. */
const AROUND = [-2, -1, 0, 1, 2];

export function heardWhilePlaying(settings: Settings): Heard {
  const { along, metronome, subdivision, countIn } = settings;
  return { hands: along, metronome, subdivision, countIn };
}

/** "Hear it": the hands of the step, or both for one who wants to hear how they fit. */
export function heardAsModel(settings: Settings, hands: Hands): Heard {
  return {
    hands: handsOf(hands),
    metronome: settings.metronome,
    subdivision: settings.subdivision,
    countIn: false,
  };
}
