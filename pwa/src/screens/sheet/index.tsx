/** The analysis on paper: the score with its statements, the subject, the count, the comparison, the suggestions. */

import { Comparisons } from "../../analysis/Comparisons";
import { CountTable } from "../../analysis/CountTable";
import { Legend } from "../../analysis/Legend";
import { paths } from "../../api/paths";
import type { Sheet, SuggestionFound } from "../../api/types";
import { Asking } from "../../design/asking";
import { useKept } from "../../offline/kept";
import { address, type Params } from "../../router/router";
import { EngravedScore } from "../../score/ScoreView";
import { type Key, text } from "../../strings/catalogue";
import { keyName } from "../../strings/phrases";
import "./sheet.css";

export default function SheetScreen({ params }: { params: Params }) {
  const asked = useKept<Sheet>(paths.sheet(Number(params.piece)));
  return (
    <div class="sheet stack">
      <Asking of={asked}>{(sheet) => <Printed sheet={sheet} />}</Asking>
    </div>
  );
}

function Printed({ sheet: { piece, svgs, analysis } }: { sheet: Sheet }) {
  return (
    <>
      <header class="stack">
        <p class="quiet">{text("sheet.title")}</p>
        <h1>{piece.title}</h1>
        <p>
          {piece.composer && `${piece.composer}. `}
          {text("studio.piece.line", { key: keyName(piece.key), meter: piece.meter, measures: piece.measures })}
        </p>
        <p class="row not-printed">
          <button type="button" class="button button-main" onClick={() => print()}>
            {text("print")}
          </button>
          <a class="button" href={address("/piece/:piece", { piece: piece.id })}>
            {text("way.back")}
          </a>
        </p>
      </header>
      <p>
        <b>{text("piece.subject")}:</b> {analysis.subject?.reason ?? analysis.no_subject_reason}
      </p>
      <Legend />
      <EngravedScore
        svgs={svgs}
        label={text("piece.score.label", { title: piece.title })}
        statements={analysis.statements}
      />
      <section class="stack sheet-part">
        <h2>{text("piece.count")}</h2>
        <CountTable cells={analysis.count_table} />
      </section>
      {analysis.comparisons.length > 0 && (
        <section class="stack sheet-part">
          <h2>{text("piece.compare")}</h2>
          <Comparisons comparisons={analysis.comparisons} />
        </section>
      )}
      {analysis.suggestions.length > 0 && (
        <section class="stack sheet-part">
          <h2>{text("piece.suggestions")}</h2>
          <ul>
            {byKind(analysis.suggestions).map(({ kind, count, numbers }) => (
              <li key={kind}>
                <b>{text(`piece.kind.${kind}` as Key, { n: count })}:</b> {text("sheet.measures", { numbers })}
              </li>
            ))}
          </ul>
        </section>
      )}
    </>
  );
}

/** On paper a suggestion is a measure in which to put a sign; its wording is on the screen. */
function byKind(suggestions: readonly SuggestionFound[]): { kind: string; count: number; numbers: string }[] {
  const kinds = [...new Set(suggestions.map((suggestion) => suggestion.kind))];
  return kinds.map((kind) => {
    const ofKind = suggestions.filter((suggestion) => suggestion.kind === kind);
    const measures = new Set(ofKind.map((suggestion) => suggestion.place.measure));
    return { kind, count: ofKind.length, numbers: [...measures].join(", ") };
  });
}
