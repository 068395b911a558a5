/**
 * The score as the follower sees it. Up to three layers (both hands, right alone, left alone), each a row of
 * positions, one for every key of every onset; all layers lie one after the other in the same arrays.
 */

export type Hand = "right" | "left";

export interface LineNote {
  id: string;
  hand: Hand;
  /** Quarters. */
  onset: number;
  midi: number;
  /** Keys that an ornament on the note may strike besides. */
  ornamentKeys: readonly number[];
}

/** What one key costs at each position, in nats: to be taken there, to be added there, to enter there by a jump. */
export interface KeyRow {
  take: Float64Array;
  stay: Float64Array;
  enter: Float64Array;
}

export interface Line {
  notes: readonly LineNote[];
  /** The notes of each onset, right hand first, from low to high. */
  groups: readonly (readonly LineNote[])[];
  /** First position of each layer; the last entry is the number of positions. */
  layerStarts: readonly number[];
  /** The number of the onset of each position. */
  group: readonly number[];
  /** Whether a position is the first of its onset in its layer. */
  first: readonly boolean[];
  entry: readonly number[];
  layerKeys: readonly ReadonlySet<number>[];
  ornamentKeys: readonly ReadonlySet<number>[];
  /** Rows of the keys struck so far. */
  rows: Map<number, KeyRow>;
}

const WRONG_NEAR = 2.0;
const WRONG_FAR = 3.2;
const NEAR_SEMITONES = [1, 2, 12];
const ADDED = 2.5;
const ORNAMENT = 0.4;
const ENTRY_PASSAGE = 2.8;
const ENTRY_MEASURE = 4.2;
const ENTRY_ANYWHERE = 5.2;
const ENTRY_ONE_HAND = 0.7;

/** Lays notes out for following. */
export function prepare(notes: readonly LineNote[], measureStarts: readonly number[]): Line {
  const ordered = notes.toSorted((a, b) => a.onset - b.onset || byHand(a) - byHand(b) || a.midi - b.midi);
  const onsets = [...new Set(ordered.map((note) => note.onset))];
  const groups = onsets.map((onset) => ordered.filter((note) => note.onset === onset));
  const hands = (["right", "left"] as const).filter((hand) => ordered.some((note) => note.hand === hand));
  const layers = hands.length > 1 ? [hands, ...hands.map((hand) => [hand])] : [hands];
  const rows = layers.map((layer) => layerPositions(layer, layer.length < hands.length));
  const all = rows.flat();
  return {
    notes: ordered,
    groups,
    layerStarts: [0, ...rows.map((_, layer) => rows.slice(0, layer + 1).flat().length)],
    group: all.map((position) => position.group),
    first: all.map((position) => position.first),
    entry: all.map((position) => position.entry),
    layerKeys: all.map((position) => position.keys),
    ornamentKeys: all.map((position) => position.ornamentKeys),
    rows: new Map(),
  };

  function layerPositions(layer: readonly Hand[], oneHand: boolean) {
    return groups.flatMap((members, number) => {
      const here = members.filter((note) => layer.includes(note.hand));
      const position = {
        group: number,
        entry: entryCost(onsets, number, measureStarts) + (oneHand ? ENTRY_ONE_HAND : 0),
        keys: new Set(here.map((note) => note.midi)),
        ornamentKeys: ornamentKeysAt(ordered, layer, onsets, number),
      };
      return [...position.keys].map((_, place) => ({ ...position, first: place === 0 }));
    });
  }
}

function byHand(note: LineNote): number {
  return note.hand === "right" ? 0 : 1;
}

function entryCost(onsets: readonly number[], number: number, measureStarts: readonly number[]): number {
  if (number === 0) return ENTRY_PASSAGE;
  return measureStarts.includes(onsets[number] ?? Number.NaN) ? ENTRY_MEASURE : ENTRY_ANYWHERE;
}

/** Keys that ornaments allow at an onset: of its own notes and of those one onset before. */
function ornamentKeysAt(
  ordered: readonly LineNote[],
  layer: readonly Hand[],
  onsets: readonly number[],
  number: number,
): ReadonlySet<number> {
  const low = onsets[Math.max(0, number - 1)] ?? 0;
  const high = onsets[number] ?? 0;
  const near = ordered.filter((note) => note.onset >= low && note.onset <= high && layer.includes(note.hand));
  return new Set(near.flatMap((note) => note.ornamentKeys));
}

/** The costs of a key by position; worked out once for each line and key. */
export function keyRow(line: Line, key: number): KeyRow {
  const known = line.rows.get(key);
  if (known) return known;
  const row = {
    take: Float64Array.from(line.layerKeys, (keys) => taking(keys, key)),
    stay: Float64Array.from(line.ornamentKeys, (keys) => (keys.has(key) ? ORNAMENT : ADDED)),
    enter: Float64Array.from(line.entry, (entry, i) => {
      const enters = line.first[i] && line.layerKeys[i]?.has(key);
      return enters ? entry : Number.POSITIVE_INFINITY;
    }),
  };
  line.rows.set(key, row);
  return row;
}

function taking(keys: ReadonlySet<number>, key: number): number {
  if (keys.has(key)) return 0;
  const near = NEAR_SEMITONES.some((semitones) => keys.has(key + semitones) || keys.has(key - semitones));
  return near ? WRONG_NEAR : WRONG_FAR;
}
