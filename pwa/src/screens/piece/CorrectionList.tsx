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
  const { kind, first_measure, to_measure, label } = correction;
  const first = Number(first_measure);
  switch (kind) {
    case "subject":
    case "drop_statement":
    case "add_statement":
    case "relabel_statement":
      return text(`piece.correction.${kind}`, { place: placeOf(correction) });
    case "move_boundary":
      return text("piece.correction.move_boundary", { first, to: Number(to_measure) });
    case "rename_section":
      return text("piece.correction.rename_section", { first, label: String(label) });
    case "suggestion":
      return text("piece.correction.suggestion", { place: String(correction.text ?? said(correction)) });
    default:
      return text("piece.correction.other", { kind: String(kind) });
  }
}

function said({ decision }: Correction): string {
  return text(decision === "drop" ? "piece.suggestion.dropped" : "piece.suggestion.accepted");
}

function placeOf({ hand, start }: Correction): string {
  const { measure, beat } = (start ?? {}) as { measure?: number; beat?: number };
  if (measure === undefined || beat === undefined) return "";
  const where = place({ measure, beat, offset: 0 });
  return hand === "right" || hand === "left" ? `${text(`hands.${hand}`)}, ${where}` : where;
}
