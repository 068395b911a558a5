/** A piece as the teacher reads it: the score with its statements, the count, the comparison, and the corrections. */
import { useMemo, useState } from "preact/hooks";
import { Comparisons } from "../../analysis/Comparisons";
import { CountTable } from "../../analysis/CountTable";
import { Legend } from "../../analysis/Legend";
import { send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Analysis, PieceCard } from "../../api/types";
import { Asking, Problem } from "../../design/asking";
import { useKept } from "../../offline/kept";
import { address, go, type Params } from "../../router/router";
import type { Marks } from "../../score/ScoreView";
import { text } from "../../strings/catalogue";
import { keyName } from "../../strings/phrases";
import { CorrectionList } from "./CorrectionList";
import { useCorrections } from "./corrections";
import { FingerChoice, FingeringPanel } from "./FingeringPanel";
import { useFingering } from "./fingering";
import { SectionList } from "./SectionList";
import { StatementList } from "./StatementList";
import { SubjectPanel } from "./SubjectPanel";
import { Suggestions } from "./Suggestions";
import { WholeScore } from "./WholeScore";
import "./piece.css";

export default function PieceScreen({ params }: { params: Params }) {
  const id = Number(params.piece);
  const piece = useKept<PieceCard>(paths.piece(id));
  return (
    <div class="piece stack">
      <Asking of={piece}>{(card) => <OnePiece piece={card} />}</Asking>
    </div>
  );
}

function OnePiece({ piece }: { piece: PieceCard }) {
  const analysis = useKept<Analysis>(paths.analysis(piece.id));
  const corrections = useCorrections(piece.id, analysis.reload);
  const [marking, setMarking] = useState<((note: string) => void) | null>(null);
  return (
    <>
      <Head piece={piece} />
      {corrections.error && <Problem error={corrections.error} />}
      <Asking of={analysis}>
        {(found) => (
          <>
            {found.warnings.map((warning) => (
              <p key={warning} class="notice">
                {warning}
              </p>
            ))}
            <SubjectPanel analysis={found} corrections={corrections} mark={setMarking} />
            <section class="stack seam-above">
              <h2>{text("piece.score")}</h2>
              <Legend />
              <FingeredScore piece={piece} analysis={found} marking={marking} />
              <StatementList analysis={found} corrections={corrections} mark={setMarking} />
              <SectionList analysis={found} corrections={corrections} />
            </section>
            <section class="stack seam-above">
              <h2>{text("piece.count")}</h2>
              <CountTable cells={found.count_table} />
            </section>
            {found.comparisons.length > 0 && (
              <section class="stack seam-above">
                <h2>{text("piece.compare")}</h2>
                <Comparisons comparisons={found.comparisons} />
              </section>
            )}
            <Suggestions analysis={found} corrections={corrections} />
            <CorrectionList corrections={corrections} />
          </>
        )}
      </Asking>
    </>
  );
}

type FingeredProps = { piece: PieceCard; analysis: Analysis; marking: ((note: string) => void) | null };

/** The score, on request with its fingering; a tap chooses a note there, unless it marks something by hand. */
function FingeredScore({ piece, analysis, marking }: FingeredProps) {
  const fingering = useFingering(piece.id, analysis.notes);
  const [chosen, choose] = useState<string | null>(null);
  const marks: Marks = useMemo(() => new Map(chosen ? [[chosen, "chosen"]] : []), [chosen]);
  const note = analysis.notes.find(({ id }) => id === chosen);
  return (
    <>
      <FingeringPanel fingering={fingering} notes={analysis.notes} chosen={chosen} choose={choose} />
      <WholeScore
        piece={piece}
        analysis={analysis}
        statements={fingering.shown ? [] : analysis.statements}
        fingers={fingering.fingers}
        marks={marks}
        onNote={marking ?? (fingering.shown ? choose : null)}
      />
      {note && <FingerChoice fingering={fingering} note={note} />}
    </>
  );
}

function Head({ piece }: { piece: PieceCard }) {
  const remove = async () => {
    if (!confirm(text("piece.remove.sure", { title: piece.title }))) return;
    await send("DELETE", paths.piece(piece.id));
    go("/studio", { replace: true });
  };
  return (
    <header class="stack">
      <h1>{piece.title}</h1>
      <p class="quiet">
        {piece.composer && `${piece.composer}. `}
        {text("studio.piece.line", { key: keyName(piece.key), meter: piece.meter, measures: piece.measures })}
      </p>
      {piece.hands_guessed && <p class="notice">{text("studio.hands-guessed")}</p>}
      {piece.warnings.map((warning) => (
        <p key={warning} class="notice">
          {warning}
        </p>
      ))}
      <p class="row">
        <a class="button" href={address("/sheet/:piece", { piece: piece.id })}>
          {text("piece.sheet")}
        </a>
        <button type="button" class="button button-plain" onClick={() => void remove()}>
          {text("piece.remove")}
        </button>
      </p>
    </header>
  );
}
