/** The puzzle's measures; two stretches side by side where they are to be compared; notes also as a list. */
import { useRef } from "preact/hooks";
import type { Puzzle, StatementFound } from "../../api/types";
import { type Marks, ScoreView } from "../../score/ScoreView";
import { text } from "../../strings/catalogue";
import { measures, noteName } from "../../strings/phrases";
import { type Hearing, type Note, type Stretch, useHearing } from "./hearing";

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
  const hearing = useHearing(props.piece, props.notes);
  return (
    <>
      <div class={compared.length > 1 ? "puzzle-scores is-compared" : "puzzle-scores"}>
        {compared.map((stretch, index) => (
          <OneStretch
            key={stretch.first}
            {...props}
            stretch={stretch}
            hearing={hearing}
            name={compared.length > 1 ? text(index === 0 ? "puzzle.compare.first" : "puzzle.compare.second") : ""}
          />
        ))}
      </div>
      {props.toggle && <NoteList {...props} toggle={props.toggle} />}
    </>
  );
}

type StretchProps = Props & { stretch: Stretch; hearing: Hearing; name: string };

/** One stretch to be seen and heard. */
function OneStretch({ stretch, hearing, name, ...props }: StretchProps) {
  const holder = useRef<HTMLElement>(null);
  const sounds = hearing.now === stretch.first;
  const toggle = () => {
    if (sounds) hearing.stop();
    else if (holder.current) hearing.hear(stretch, holder.current);
  };
  return (
    <figure ref={holder}>
      <figcaption>
        {name}
        <button
          type="button"
          class="button"
          aria-label={[text(sounds ? "puzzle.stop" : "puzzle.hear"), name].filter(Boolean).join(": ")}
          onClick={toggle}
        >
          {text(sounds ? "puzzle.stop" : "puzzle.hear")}
        </button>
      </figcaption>
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
              {noteName(note)}
            </label>
          </li>
        ))}
      </ul>
    </details>
  );
}
