/** "Hear the difference": what was played at a place, then what is written there. */
import type { AttemptPage } from "../../api/types";
import { type RawEvent, read } from "../../midi/messages";
import type { ScoreNote, Sound } from "../../sound/timeline";
import { seconds } from "../../sound/timeline";

type Report = NonNullable<AttemptPage["assessment"]>;

/** What is between the two, in seconds. */
const BREATH = 0.8;
/** An answer that takes longer than this to hear is no answer. */
const LONGEST = 12;

interface Struck {
  midi: number;
  velocity: number;
  at: number;
  until: number;
}

/** Note-ons with their ends, in the order that the report counts them: by time, at one instant by pitch. */
export function struckKeys(events: readonly RawEvent[]): Struck[] {
  const struck: Struck[] = [];
  const down = new Map<number, Struck>();
  for (const [at, status, data1, data2] of events.toSorted((a, b) => a[0] - b[0])) {
    const message = read(status, data1, data2);
    if (message?.kind === "down") {
      const before = down.get(message.midi);
      if (before) before.until = at;
      const key = { midi: message.midi, velocity: message.velocity, at, until: Number.POSITIVE_INFINITY };
      down.set(message.midi, key);
      struck.push(key);
    } else if (message?.kind === "up") {
      const key = down.get(message.midi);
      if (key) key.until = at;
      down.delete(message.midi);
    }
  }
  return struck.toSorted((a, b) => a.at - b.at || a.midi - b.midi);
}

/**
 * The sounds of the difference in one measure: the latest pass over it as it was played, a breath, and the same
 * notes as written at `tempo` (quarters a minute). Null where nothing was played there.
 */
export function difference(
  report: Report,
  events: readonly RawEvent[],
  written: readonly ScoreNote[],
  tempo: number,
): { sounds: Sound[]; endsAt: number } | null {
  const played = latestPass(report, struckKeys(events), new Set(written.map((note) => note.id)));
  const [first] = played;
  const [start] = written;
  if (!first || !start) return null;
  const sounds: Sound[] = played.map((key) => ({
    kind: "note",
    at: (key.at - first.at) / 1000,
    lasts: Math.min(2, (key.until - key.at) / 1000),
    midi: key.midi,
    id: "",
    hand: "right",
  }));
  const pause = Math.min(LONGEST, (sounds.at(-1)?.at ?? 0) + BREATH);
  const within = sounds.filter((sound) => sound.at <= LONGEST);
  for (const note of written) {
    const at = pause + seconds(note.onset - start.onset, tempo);
    within.push({ ...note, kind: "note", at, lasts: seconds(note.duration, tempo) * 0.95 });
  }
  return { sounds: within, endsAt: Math.max(...within.map((sound) => sound.at)) + 1 };
}

/** The keys from the first to the last that belong to the wanted notes, in the last run that touches them. */
function latestPass(report: Report, struck: readonly Struck[], wanted: ReadonlySet<string>): Struck[] {
  const touching = report.events.filter((event) => event.note !== null && wanted.has(event.note));
  const last = touching.at(-1);
  if (!last) return [];
  const jump = report.jumps.findLast((found) => found.event <= last.event)?.event ?? 0;
  const first = touching.find((event) => event.event >= jump) ?? last;
  return struck.slice(first.event, last.event + 1);
}
