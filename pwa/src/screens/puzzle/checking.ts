/** Whether an answer is right, decided in the page so that a puzzle works with no network. */
import type { Puzzle } from "../../api/types";

export type Given = readonly string[] | number;

/**
 * A number or the index of a choice must be the one; of tapped notes every group wants one, and none may lie
 * outside the groups; without groups exactly the wanted notes are wanted.
 */
export function isRight(puzzle: Pick<Puzzle, "answer" | "groups">, given: Given): boolean {
  if (typeof given === "number" || typeof puzzle.answer === "number") return given === puzzle.answer;
  const tapped = new Set(given);
  const groups = puzzle.groups.length ? puzzle.groups : puzzle.answer.map((note) => [note]);
  const allowed = new Set(groups.flat());
  return (
    groups.every((group) => group.some((note) => tapped.has(note))) &&
    [...tapped].every((note) => allowed.has(note))
  );
}

/** What kind of answer the puzzle wants. */
export function answerKind(puzzle: Pick<Puzzle, "answer" | "choices">): "notes" | "choice" | "number" {
  if (typeof puzzle.answer !== "number") return "notes";
  return puzzle.choices.length ? "choice" : "number";
}
