/** Every statement in words, numbered as in the score; the teacher relabels, strikes out, and adds what was missed. */
import type { Analysis, StatementFound } from "../../api/types";
import { text } from "../../strings/catalogue";
import { place } from "../../strings/phrases";
import { type Corrections, isStatement, noStatement, relabelled } from "./corrections";
import { type Mark, MarkByHand } from "./MarkByHand";

const FORMS = ["upright", "inverted", "retrograde", "augmented", "diminished"] as const;
const EXTENTS = ["complete", "shortened", "extended"] as const;

type Props = { analysis: Analysis; corrections: Corrections; mark: Mark };

export function StatementList({ analysis, corrections, mark }: Props) {
  return (
    <>
      {analysis.statements.length > 0 && (
        <details class="piece-more">
          <summary>
            {text("piece.statements")} ({analysis.statements.length})
          </summary>
          <ol class="plain-list">
            {analysis.statements.map((statement, index) => (
              <li key={statement.id} class="piece-statement">
                <OneStatement statement={statement} number={index + 1} corrections={corrections} />
              </li>
            ))}
          </ol>
        </details>
      )}
      <MarkByHand
        analysis={analysis}
        mark={mark}
        label={text("piece.statement.add")}
        marked={(stretch) => void corrections.add(isStatement(stretch, "upright"))}
      />
    </>
  );
}

type OneProps = { statement: StatementFound; number: number; corrections: Corrections };

function OneStatement({ statement, number, corrections }: OneProps) {
  const name = inWords(statement, number);
  return (
    <>
      <span>{name}</span>
      <span class="row">
        <select
          aria-label={`${text("piece.statement.form")}: ${name}`}
          onChange={(event) => void corrections.add(relabelled(statement, { form: event.currentTarget.value }))}
        >
          {FORMS.map((form) => (
            <option key={form} value={form} selected={form === statement.form}>
              {text(`piece.form.${form}`)}
            </option>
          ))}
        </select>
        <select
          aria-label={`${text("piece.statement.extent")}: ${name}`}
          onChange={(event) => void corrections.add(relabelled(statement, { extent: event.currentTarget.value }))}
        >
          {EXTENTS.map((extent) => (
            <option key={extent} value={extent} selected={extent === statement.extent}>
              {text(`piece.extent.${extent}`)}
            </option>
          ))}
        </select>
        <button
          type="button"
          class="button"
          aria-label={`${text("piece.statement.drop")}: ${name}`}
          onClick={() => void corrections.add(noStatement(statement))}
        >
          {text("piece.statement.drop")}
        </button>
      </span>
    </>
  );
}

function inWords({ hand, start }: StatementFound, number: number): string {
  return text("piece.statement", { number, hand: text(`hands.${hand}`), place: place(start) });
}
