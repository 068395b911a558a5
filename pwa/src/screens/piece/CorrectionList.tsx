/** What the teacher changed, and where a newer analysis contradicts it. */
import { text } from "../../strings/catalogue";
import { place } from "../../strings/phrases";
import type { Correction, Corrections } from "./corrections";

export function CorrectionList({ corrections }: { corrections: Corrections }) {
  return (
    <section class="stack seam-above">
      <h2>{text("piece.corrections")}</h2>
      {corrections.conflicts.map((conflict) => (
        <p key={conflict.text} class="problem">
          {text("piece.conflict", { text: conflict.text })}
        </p>
      ))}
      {!corrections.all.length && <p class="quiet">{text("piece.corrections.none")}</p>}
      <ul class="plain-list stack">
        {corrections.all.map((correction) => (
          <li key={JSON.stringify(correction)} class="piece-statement">
            <span>{inWords(correction)}</span>
            <button type="button" class="button" onClick={() => void corrections.take(correction)}>
              {text("piece.corrections.undo")}
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

function inWords(correction: Correction): string {
  const where = placeOf(correction);
  switch (correction.kind) {
    case "subject":
      return text("piece.correction.subject", { place: where });
    case "drop_statement":
      return text("piece.correction.drop_statement", { place: where });
    case "suggestion":
      return text("piece.correction.suggestion", { place: String(correction.text ?? correction.decision) });
    default:
      return text("piece.correction.other", { kind: String(correction.kind) });
  }
}

function placeOf({ start }: Correction): string {
  const { measure, beat } = (start ?? {}) as { measure?: number; beat?: number };
  return measure === undefined || beat === undefined ? "" : place({ measure, beat, offset: 0 });
}
