/** The puzzle's measures; two stretches side by side where they are to be compared; notes also as a list. */
import type { Analysis, Puzzle, StatementFound } from "../../api/types";
import { type Marks, ScoreView } from "../../score/ScoreView";
import { text } from "../../strings/catalogue";
import { measures, pitchName } from "../../strings/phrases";

type Note = Analysis["notes"][number];
type Stretch = { first: number; last: number };

type Props = {
  piece: number;
  puzzle: Puzzle;
  notes: readonly Note[];
  marks: Marks;
  /** Statements that explain the answer. */
  statements: readonly StatementFound[];
  tapped: readonly string[];
  /** Choose a note, or take the choice back; undefined where nothing is to be tapped. */
  toggle: ((note: string) => void) | undefined;
};

export function PuzzleScore(props: Props) {
  const compared = stretches(props.puzzle);
  return (
    <>
      <div class={compared.length > 1 ? "puzzle-scores is-compared" : "puzzle-scores"}>
        {compared.map((stretch, index) => (
          <figure key={stretch.first}>
            {compared.length > 1 && (
              <figcaption>{text(index === 0 ? "puzzle.compare.first" : "puzzle.compare.second")}</figcaption>
            )}
            <ScoreView
              piece={props.piece}
              first={stretch.first}
              last={stretch.last}
              label={text("puzzle.score", { measures: measures(stretch.first, stretch.last) })}
              marks={props.marks}
              statements={props.statements}
              onNote={props.toggle}
            />
          </figure>
        ))}
      </div>
      {props.toggle && <NoteList {...props} toggle={props.toggle} />}
    </>
  );
}

/** The stretches that the puzzle sets side by side, else all its measures as one. */
export function stretches(puzzle: Puzzle): Stretch[] {
  if (puzzle.side_by_side.length > 1) return puzzle.side_by_side.map(([first, last]) => ({ first, last }));
  return [{ first: puzzle.first_measure, last: puzzle.last_measure }];
}

/** The same taps for a keyboard and a screen reader. */
function NoteList({ puzzle, notes, tapped, toggle }: Props & { toggle: (note: string) => void }) {
  const within = notes.filter(
    ({ place }) => place.measure >= puzzle.first_measure && place.measure <= puzzle.last_measure,
  );
  return (
    <details class="note-list">
      <summary>{text("puzzle.notes")}</summary>
      <ul class="plain-list">
        {within.map((note) => (
          <li key={note.id}>
            <label class="choice">
              <input type="checkbox" checked={tapped.includes(note.id)} onChange={() => toggle(note.id)} />
              {noteText(note)}
            </label>
          </li>
        ))}
      </ul>
    </details>
  );
}

function noteText({ pitch, hand, place }: Note): string {
  const { measure, beat } = place;
  return text("puzzle.note", { pitch: pitchName(pitch), hand: text(`hands.${hand}`), measure, beat });
}
