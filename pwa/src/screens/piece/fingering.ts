/** A finger for every note: the teacher's own, which are kept, and round them what the studio proposes. */
import { useMemo, useState } from "preact/hooks";
import { ApiError, send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Analysis, Fingering } from "../../api/types";
import { keep, useKept } from "../../offline/kept";
import type { Fingers } from "../../score/fingers";

export type Note = Analysis["notes"][number];

export type Fingerings = {
  readonly shown: boolean;
  /** Nothing while none is shown, or while it is being worked out. */
  readonly fingers: Fingers;
  readonly error: ApiError | undefined;
  readonly waiting: boolean;
  readonly show: (shown: boolean) => void;
  /** Writes the teacher's finger for a note; null leaves the note to the proposal again. */
  readonly write: (note: string, finger: number | null) => Promise<void>;
};

/** The fingering of a piece, asked for when it is first shown. */
export function useFingering(piece: number, notes: readonly Note[]): Fingerings {
  const path = paths.fingering(piece);
  const [shown, show] = useState(false);
  const [refused, setRefused] = useState<ApiError>();
  const asked = useKept<Fingering>(shown ? path : null);
  const found = asked.data;
  const fingers = useMemo(() => fingersOf(notes, found), [notes, found]);
  const write = async (note: string, finger: number | null) => {
    if (!found) return;
    try {
      await keep(path, await send<Fingering>("PUT", path, { fingers: ownWith(found, note, finger) }));
      setRefused(undefined);
      await asked.reload();
    } catch (problem) {
      if (!(problem instanceof ApiError)) throw problem;
      setRefused(problem);
    }
  };
  return { shown, fingers, error: refused ?? asked.error, waiting: shown && !found && !asked.error, show, write };
}

function fingersOf(notes: readonly Note[], found: Fingering | undefined): Fingers {
  const own = new Set(found?.written);
  return new Map(
    notes.flatMap(({ id, hand }) => {
      const finger = found?.fingers[id];
      return finger === undefined ? [] : [[id, { hand, finger, own: own.has(id) }] as const];
    }),
  );
}

/** The teacher's own fingers after a change to one note. */
export function ownWith(found: Fingering, note: string, finger: number | null): Record<string, number> {
  const others = found.written.filter((id) => id !== note).map((id) => [id, found.fingers[id] ?? 0] as const);
  return Object.fromEntries(finger === null ? others : [...others, [note, finger] as const]);
}
