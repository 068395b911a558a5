/** Every statement in words, numbered as in the score; the teacher strikes out what is none. */
import type { Analysis, StatementFound } from "../../api/types";
import { text } from "../../strings/catalogue";
import { place } from "../../strings/phrases";
import { type Corrections, noStatement } from "./corrections";

export function StatementList({ analysis, corrections }: { analysis: Analysis; corrections: Corrections }) {
  if (!analysis.statements.length) return null;
  return (
    <details class="piece-more">
      <summary>
        {text("piece.statements")} ({analysis.statements.length})
      </summary>
      <ol class="plain-list">
        {analysis.statements.map((statement, index) => (
          <li key={statement.id} class="piece-statement">
            <span>{inWords(statement, index + 1)}</span>
            <button
              type="button"
              class="button"
              aria-label={`${text("piece.statement.drop")}: ${inWords(statement, index + 1)}`}
              onClick={() => void corrections.add(noStatement(statement))}
            >
              {text("piece.statement.drop")}
            </button>
          </li>
        ))}
      </ol>
    </details>
  );
}

function inWords(statement: StatementFound, number: number): string {
  return text("piece.statement", {
    number,
    form: text(`piece.form.${statement.form}`),
    extent: text(`piece.extent.${statement.extent}`),
    hand: text(`hands.${statement.hand}`),
    place: place(statement.start),
  });
}
