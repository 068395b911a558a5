/** One puzzle: the question, the score, a hint that shows, an answer that explains. */
import { useMemo, useRef, useState } from "preact/hooks";
import { paths } from "../../api/paths";
import type { Analysis, Puzzle, PuzzleOutcome, StatementFound } from "../../api/types";
import { useKept } from "../../offline/kept";
import { post } from "../../offline/outbox";
import { address } from "../../router/router";
import type { Mark, Marks } from "../../score/ScoreView";
import { text } from "../../strings/catalogue";
import { place } from "../../strings/phrases";
import { AnswerForm } from "./AnswerForm";
import { answerKind, type Given, isRight } from "./checking";
import { PuzzleScore } from "./PuzzleScore";

type Props = { piece: number; puzzle: Puzzle; next: Puzzle | undefined };

export function OnePuzzle({ piece, puzzle, next }: Props) {
  const [tapped, setTapped] = useState<readonly string[]>([]);
  const [hinted, setHinted] = useState(false);
  const [right, setRight] = useState<boolean | null>(null);
  const opened = useRef(Date.now());
  const analysis = useKept<Analysis>(paths.analysis(piece)).data;
  const notes = analysis?.notes ?? [];
  const marks = useMemo(() => marksOf(puzzle, tapped, hinted, right), [puzzle, tapped, hinted, right]);
  const open = right === null;
  const explained = useMemo(
    () => (open ? [] : statementsAt(analysis, wantedNotes(puzzle))),
    [analysis, puzzle, open],
  );

  const toggle = (note: string) =>
    setTapped(tapped.includes(note) ? tapped.filter((other) => other !== note) : [...tapped, note]);
  const answer = (given: Given) => {
    setRight(isRight(puzzle, given));
    void sendAnswer(piece, puzzle, given, Date.now() - opened.current);
  };

  return (
    <div class="stack puzzle">
      <header class="stack">
        <p class="quiet">{text("puzzle.level", { n: puzzle.level })}</p>
        <h1 class="puzzle-question">{puzzle.question}</h1>
      </header>
      <PuzzleScore
        piece={piece}
        puzzle={puzzle}
        notes={notes}
        marks={marks}
        statements={explained}
        tapped={tapped}
        toggle={open && answerKind(puzzle) === "notes" ? toggle : undefined}
      />
      {hinted && open && <Hint puzzle={puzzle} notes={notes} />}
      {open ? (
        <AnswerForm puzzle={puzzle} tapped={tapped} clear={() => setTapped([])} answer={answer}>
          {!hinted && puzzle.hint.length > 0 && (
            <button type="button" class="button" onClick={() => setHinted(true)}>
              {text("puzzle.hint")}
            </button>
          )}
        </AnswerForm>
      ) : (
        <Explained piece={piece} puzzle={puzzle} right={right} next={next} />
      )}
    </div>
  );
}

function marksOf(puzzle: Puzzle, tapped: readonly string[], hinted: boolean, right: boolean | null): Marks {
  const marks = new Map<string, Mark>();
  if (hinted && right === null) for (const note of puzzle.hint) marks.set(note, "shown");
  for (const note of tapped) marks.set(note, "chosen");
  if (right === null) return marks;
  const wanted = wantedNotes(puzzle);
  for (const note of tapped) marks.set(note, wanted.includes(note) ? "right-answer" : "wrong-answer");
  for (const note of Array.isArray(puzzle.answer) ? puzzle.answer : wanted) marks.set(note, "right-answer");
  return marks;
}

/** The statements of the subject that the answer is about, to be shown with their strokes. */
function statementsAt(analysis: Analysis | undefined, notes: readonly string[]): readonly StatementFound[] {
  const answer = new Set(notes);
  return (analysis?.statements ?? []).filter((statement) => statement.notes.some((note) => answer.has(note)));
}

/** The notes that explain the answer: the answer itself, or what a number or a choice rests on. */
function wantedNotes(puzzle: Puzzle): readonly string[] {
  if (typeof puzzle.answer !== "number") return puzzle.groups.length ? puzzle.groups.flat() : puzzle.answer;
  return puzzle.groups.length ? puzzle.groups.flat() : puzzle.hint;
}

async function sendAnswer(piece: number, puzzle: Puzzle, given: Given, milliseconds: number): Promise<void> {
  const client_id = crypto.randomUUID();
  const patch_id = new URLSearchParams(location.search).get("patch");
  const body = {
    client_id,
    piece_id: piece,
    puzzle_id: puzzle.id,
    answer: given,
    milliseconds,
    answered_at: new Date().toISOString(),
    ...(patch_id ? { patch_id } : {}),
  };
  await post<PuzzleOutcome>({ client_id, method: "POST", path: paths.puzzleAnswers, body });
}

/** The hint is marked on the score; its places are said for those who do not see it. */
function Hint({ puzzle, notes }: { puzzle: Puzzle; notes: Analysis["notes"] }) {
  const places = notes.filter((note) => puzzle.hint.includes(note.id)).map((note) => place(note.place));
  return (
    <p class="notice" role="status">
      {text("puzzle.hint.shown")}
      <span class="out-of-sight"> {text("puzzle.hint.notes", { places: places.join("; ") })}</span>
    </p>
  );
}

function Explained({ piece, puzzle, right, next }: Props & { right: boolean }) {
  return (
    <section class="cloth stitched stack" role="status">
      <h2>{text(right ? "puzzle.right" : "puzzle.wrong")}</h2>
      <p class="puzzle-explanation">{puzzle.explanation}</p>
      <p class="row">
        {next && (
          <a class="button button-main" href={address("/puzzle/:piece/:puzzle", { piece, puzzle: next.id })}>
            {text("puzzle.next")}
          </a>
        )}
        <a class="button" href="/today">
          {text("today.title")}
        </a>
      </p>
    </section>
  );
}
