/** Questions about how the piece is made, answered on the score. */
import { paths } from "../../api/paths";
import type { Puzzle } from "../../api/types";
import { Asking } from "../../design/asking";
import { ChoosePiece } from "../../design/choose-piece";
import { useKept } from "../../offline/kept";
import { address, type Params } from "../../router/router";
import { text } from "../../strings/catalogue";
import { measures } from "../../strings/phrases";
import { OnePuzzle } from "./OnePuzzle";
import "./puzzle.css";

export default function PuzzleScreen({ params }: { params: Params }) {
  if (!params.piece)
    return <ChoosePiece title={text("puzzle.title")} to={(piece) => address("/puzzle/:piece", { piece })} />;
  return <OfPiece piece={Number(params.piece)} puzzle={params.puzzle} />;
}

function OfPiece({ piece, puzzle }: { piece: number; puzzle: string | undefined }) {
  const asked = useKept<Puzzle[]>(paths.puzzles(piece));
  return (
    <Asking of={asked}>
      {(puzzles) => {
        const opened = puzzles.find((one) => one.id === puzzle);
        const next = nextPuzzle(puzzles, puzzle);
        if (opened) return <OnePuzzle key={opened.id} piece={piece} puzzle={opened} next={next} />;
        return <AllPuzzles piece={piece} puzzles={puzzles} next={next} />;
      }}
    </Asking>
  );
}

/** The easiest puzzle that has not been found yet, after the present one; else the next in the list. */
export function nextPuzzle(puzzles: readonly Puzzle[], present: string | undefined): Puzzle | undefined {
  const others = puzzles.filter((puzzle) => puzzle.id !== present);
  const open = others.filter((puzzle) => puzzle.answered !== true);
  return open.toSorted((one, other) => one.level - other.level)[0] ?? others[0];
}

type AllProps = { piece: number; puzzles: readonly Puzzle[]; next: Puzzle | undefined };

function AllPuzzles({ piece, puzzles, next }: AllProps) {
  return (
    <div class="stack">
      <h1>{text("puzzle.title")}</h1>
      {!puzzles.length && <p>{text("puzzle.none")}</p>}
      {next && (
        <a
          class="button button-main button-far"
          href={address("/puzzle/:piece/:puzzle", { piece, puzzle: next.id })}
        >
          {text("puzzle.first")}
        </a>
      )}
      <ol class="plain-list stack">
        {puzzles.map((puzzle) => (
          <li key={puzzle.id}>
            <a class="cloth puzzle-line" href={address("/puzzle/:piece/:puzzle", { piece, puzzle: puzzle.id })}>
              <b>{puzzle.question}</b>
              <span class="quiet">
                {text("puzzle.level", { n: puzzle.level })}, {measures(puzzle.first_measure, puzzle.last_measure)},{" "}
                {text(stateKey(puzzle))}
              </span>
            </a>
          </li>
        ))}
      </ol>
    </div>
  );
}

function stateKey(puzzle: Puzzle) {
  if (puzzle.answered === null) return "puzzle.state.new";
  return puzzle.answered ? "puzzle.state.right" : "puzzle.state.wrong";
}
