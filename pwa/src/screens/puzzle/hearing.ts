/** A puzzle's measures as they sound: both hands, as written, without a metronome. */
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { paths } from "../../api/paths";
import type { Analysis, PieceCard } from "../../api/types";
import { useKept } from "../../offline/kept";
import { LiveMarks } from "../../score/live";
import { Speaker } from "../../sound/speaker";
import { type Passage, type Timeline, timeline } from "../../sound/timeline";

export type Note = Analysis["notes"][number];
export type Stretch = { first: number; last: number };

/** Quarters a minute where the score names no tempo: a walk. */
const WALK = 80;

/** All that sounds in the measures of a stretch, from its first note on; null where nothing does. */
export function soundsOf(notes: readonly Note[], stretch: Stretch, tempo: number): Timeline | null {
  const within = notes.filter(({ place }) => place.measure >= stretch.first && place.measure <= stretch.last);
  if (!within.length) return null;
  const passage: Passage = {
    notes: within.map(({ id, hand, midi, duration, place }) => ({
      id,
      hand,
      midi,
      duration,
      onset: place.offset,
    })),
    measureOnsets: [Math.min(...within.map(({ place }) => place.offset))],
    end: Math.max(...within.map(({ place, duration }) => place.offset + duration)),
    meter: { beats: 4, unit: 4 },
  };
  const plain = { metronome: false, subdivision: 1, countIn: false } as const;
  return timeline(passage, tempo, { ...plain, hands: ["right", "left"] });
}

export type Hearing = {
  /** The stretch that sounds now, by its first measure. */
  readonly now: number | null;
  /** Plays a stretch and shows it on the score in `holder`; what sounded before stops. */
  readonly hear: (stretch: Stretch, holder: HTMLElement) => void;
  readonly stop: () => void;
};

/** Hears stretches of a piece one at a time, at the tempo of the score. */
export function useHearing(piece: number, notes: readonly Note[]): Hearing {
  const tempo = useKept<PieceCard[]>(paths.pieces).data?.find(({ id }) => id === piece)?.tempo ?? WALK;
  const speaker = useMemo(() => new Speaker(), []);
  const marks = useRef<LiveMarks | null>(null);
  const [now, setNow] = useState<number | null>(null);
  useEffect(() => () => speaker.close(), [speaker]);
  const stop = () => {
    speaker.stop();
    marks.current?.clear();
    setNow(null);
  };
  const hear = (stretch: Stretch, holder: HTMLElement) => {
    const heard = soundsOf(notes, stretch, tempo);
    if (!heard) return;
    stop();
    const shown = new LiveMarks(holder);
    marks.current = shown;
    setNow(stretch.first);
    void speaker.play(heard.sounds, heard.endsAt, { note: ({ id }) => shown.next([id]), end: stop });
  };
  return { now, hear, stop };
}
