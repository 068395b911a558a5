/** The teacher's corrections, a layer over the analysis: every change is sent at once, and the analysis asked again. */
import { useState } from "preact/hooks";
import { ApiError, send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Corrections as Page, Place, StatementFound, SubjectFound, SuggestionFound } from "../../api/types";
import { keep, useKept } from "../../offline/kept";

export type Correction = Page["corrections"][number];

/** Notes of one hand from a first to a last place, both included. */
export type Stretch = Pick<SubjectFound, "hand" | "start" | "end">;

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

/** There is one subject, and one word about each suggestion, statement and section. */
function replaces(correction: Correction, old: Correction): boolean {
  if (correction.kind !== old.kind) return false;
  return correction.kind === "subject" || aboutOf(correction) === aboutOf(old);
}

function aboutOf({ hand, start, end, id, first_measure }: Correction): string {
  return JSON.stringify([hand, start, end, id, first_measure]);
}

/** This stretch of a hand is the subject. */
export function subjectIs({ hand, start, end }: Stretch): Correction {
  return { kind: "subject", hand, start: short(start), end: short(end) };
}

/** This is no statement of the subject. */
export function noStatement({ hand, start, end }: StatementFound): Correction {
  return { kind: "drop_statement", hand, start: short(start), end: short(end) };
}

/** This stretch states the subject. */
export function isStatement({ hand, start, end }: Stretch, form: "upright" | "inverted"): Correction {
  return { kind: "add_statement", hand, start: short(start), end: short(end), form };
}

/** This statement is of another form or extent. */
export function relabelled(found: StatementFound, label: { form: string } | { extent: string }): Correction {
  return {
    kind: "relabel_statement",
    hand: found.hand,
    start: short(found.start),
    end: short(found.end),
    ...label,
  };
}

/** The section that begins in this measure begins in another, or has another name. */
export function sectionFrom(first_measure: number, to_measure: number): Correction {
  return { kind: "move_boundary", first_measure, to_measure };
}

export function sectionNamed(first_measure: number, label: string): Correction {
  return { kind: "rename_section", first_measure, label };
}

/** What the teacher says to a suggestion; `text` is the new wording of an edited one. */
export function suggestion(
  { id }: SuggestionFound,
  decision: "accept" | "edit" | "drop",
  text?: string,
): Correction {
  return { kind: "suggestion", id, decision, ...(text === undefined ? {} : { text }) };
}

function short({ measure, beat }: Place): { measure: number; beat: number } {
  return { measure, beat };
}
