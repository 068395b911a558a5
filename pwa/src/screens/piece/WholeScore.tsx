/** The whole score; a long one is engraved in stretches, each when it comes near. */
import { useEffect, useRef, useState } from "preact/hooks";
import type { Analysis, PieceCard, StatementFound } from "../../api/types";
import type { Fingers } from "../../score/fingers";
import { type Marks, ScoreView } from "../../score/ScoreView";
import { text } from "../../strings/catalogue";

/** Measures in one drawing: few enough to be drawn at once on a tablet. */
const STRETCH = 48;

type Props = {
  piece: PieceCard;
  analysis: Analysis;
  /** The statements to be shown; none where fingers need their room. */
  statements: readonly StatementFound[];
  fingers: Fingers;
  marks: Marks;
  onNote: ((note: string) => void) | null;
};

export function WholeScore(props: Props) {
  const { piece, analysis, statements, fingers, marks, onNote } = props;
  const numbers = [...new Set(analysis.keys.map((key) => key.measure))];
  if (numbers.length <= STRETCH) {
    return (
      <ScoreView
        piece={piece.id}
        label={text("piece.score.label", { title: piece.title })}
        statements={statements}
        fingers={fingers}
        marks={marks}
        onNote={onNote ?? undefined}
      />
    );
  }
  const starts = numbers.filter((_, index) => index % STRETCH === 0);
  return (
    <div class="stack">
      {starts.map((first, index) => (
        <Stretch
          key={first}
          {...props}
          first={first}
          last={numbers[(index + 1) * STRETCH - 1] ?? numbers.at(-1) ?? first}
        />
      ))}
    </div>
  );
}

type StretchProps = Props & { first: number; last: number };

function Stretch({ piece, statements, fingers, marks, onNote, first, last }: StretchProps) {
  const place = useRef<HTMLDivElement>(null);
  const [near, setNear] = useState(false);
  useEffect(() => {
    const watcher = new IntersectionObserver(([entry]) => entry?.isIntersecting && setNear(true), {
      rootMargin: "800px",
    });
    if (place.current) watcher.observe(place.current);
    return () => watcher.disconnect();
  }, []);
  return (
    <div ref={place} class="score-stretch">
      {near && (
        <ScoreView
          piece={piece.id}
          first={first}
          last={last}
          label={`${text("piece.score.label", { title: piece.title })}, ${text("measures.range", { first, last })}`}
          statements={statements}
          fingers={fingers}
          marks={marks}
          onNote={onNote ?? undefined}
        />
      )}
    </div>
  );
}
