/** The teacher's corrections, a layer over the analysis: every change is sent at once, and the analysis asked again. */
import { useState } from "preact/hooks";
import { ApiError, send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Corrections as Page, Place, StatementFound, SubjectFound, SuggestionFound } from "../../api/types";
import { keep, useKept } from "../../offline/kept";

export type Correction = Page["corrections"][number];

export type Corrections = {
  readonly all: readonly Correction[];
  readonly conflicts: Page["conflicts"];
  readonly error: ApiError | null;
  readonly add: (correction: Correction) => Promise<void>;
  readonly take: (correction: Correction) => Promise<void>;
};

/** The corrections of a piece; `changed` is called after each change. */
export function useCorrections(piece: number, changed: () => Promise<void>): Corrections {
  const path = paths.corrections(piece);
  const asked = useKept<Page>(path);
  const [error, setError] = useState<ApiError | null>(null);
  const all = asked.data?.corrections ?? [];
  const put = async (wanted: readonly Correction[]) => {
    try {
      await keep(path, await send<Page>("PUT", path, wanted));
      setError(null);
      await Promise.all([asked.reload(), changed()]);
    } catch (problem) {
      if (!(problem instanceof ApiError)) throw problem;
      setError(problem);
    }
  };
  return {
    all,
    conflicts: asked.data?.conflicts ?? [],
    error,
    add: (correction) => put([...all.filter((old) => !replaces(correction, old)), correction]),
    take: (correction) => put(all.filter((old) => old !== correction)),
  };
}

/** There is one subject, and one word about each suggestion. */
function replaces(correction: Correction, old: Correction): boolean {
  if (correction.kind !== old.kind) return false;
  return correction.kind === "subject" || (correction.kind === "suggestion" && correction.id === old.id);
}

/** This stretch of a hand is the subject. */
export function subjectIs({ hand, start, end }: Pick<SubjectFound, "hand" | "start" | "end">): Correction {
  return { kind: "subject", hand, start: short(start), end: short(end) };
}

/** This is no statement of the subject. */
export function noStatement({ hand, start, end }: StatementFound): Correction {
  return { kind: "drop_statement", hand, start: short(start), end: short(end) };
}

/** What the teacher says to a suggestion. */
export function suggestion(found: SuggestionFound, decision: "accept" | "drop", text?: string): Correction {
  return { kind: "suggestion", id: found.id, decision, ...(text === undefined ? {} : { text }) };
}

function short({ measure, beat }: Place): { measure: number; beat: number } {
  return { measure, beat };
}
