/** Early or late against the metronome: the one place where the keys' times are judged against sound. */
import type { AttemptPage, Drill } from "../../api/types";
import type { RawEvent } from "../../midi/messages";
import { latencyMs, median } from "../../sound/latency";
import { beatQuarters, seconds } from "../../sound/timeline";
import { struckKeys } from "./difference";
import { passageOf, type Settings } from "./drill";

type Report = NonNullable<AttemptPage["assessment"]>;
export type Against = "together" | "ahead" | "behind";

const FEWEST_NOTES = 8;
/** Someone who follows the clicks keeps this share of the notes nearer to its place than to the next beat. */
const FOLLOWED_SHARE = 0.8;
/** Nearer than this is together: finer than hands and ears are (common practice, no source). */
const TOGETHER_MS = 40;

interface Tried {
  drill: Drill;
  settings: Settings;
  events: readonly RawEvent[];
  /** When the passage was to begin, in milliseconds of the page's clock. */
  musicAt: number;
}

/** Where a try lay against its clicks; null where it had none, or this device's latency was never measured. */
export function lookAtClicks(report: Report, tried: Tried): Against | null {
  const { metronome, tempo } = tried.settings;
  if (!metronome || latencyMs.value === null) return null;
  const { meter, notes, measureOnsets } = passageOf(tried.drill);
  const ms = (quarters: number) => 1000 * seconds(quarters, tempo);
  const due = notes.map(({ id, onset }) => [id, tried.musicAt + ms(onset - (measureOnsets[0] ?? 0))] as const);
  return againstClicks(report, tried.events, new Map(due), ms(beatQuarters(meter)), latencyMs.value);
}

/**
 * Where the keys fell against the clicks, in the median over the notes played as written; null where the clicks were
 * not followed, or too little was played. `due` is when each note was to be heard, in milliseconds of the page's
 * clock, and `latency` what is measured of this device.
 */
export function againstClicks(
  report: Report,
  events: readonly RawEvent[],
  due: ReadonlyMap<string, number>,
  beatMs: number,
  latency: number,
): Against | null {
  const struck = struckKeys(events);
  const offsets = report.events.flatMap(({ event, note, status }) => {
    const [at, place] = [struck[event]?.at, due.get(note ?? "")];
    return status === "as_written" && at !== undefined && place !== undefined ? [at - place - latency] : [];
  });
  const near = offsets.filter((ms) => Math.abs(ms) < beatMs / 2);
  if (near.length < FEWEST_NOTES || near.length < FOLLOWED_SHARE * offsets.length) return null;
  const middle = median(near);
  if (Math.abs(middle) <= TOGETHER_MS) return "together";
  return middle < 0 ? "ahead" : "behind";
}
