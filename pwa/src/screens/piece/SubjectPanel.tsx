/** The subject: what was found and why, other candidates, and the teacher's own pencil. */
import type { Analysis, SubjectFound } from "../../api/types";
import { text } from "../../strings/catalogue";
import { beat } from "../../strings/phrases";
import { type Corrections, subjectIs } from "./corrections";
import { type Mark, MarkByHand } from "./MarkByHand";

type Props = { analysis: Analysis; corrections: Corrections; mark: Mark };

export function SubjectPanel({ analysis, corrections, mark }: Props) {
  const { subject, alternatives, no_subject_reason } = analysis;
  return (
    <section class="stack seam-above">
      <h2>{text("piece.subject")}</h2>
      {subject ? <Candidate found={subject} /> : <p>{no_subject_reason || text("piece.subject.none")}</p>}
      {alternatives.length > 0 && (
        <details class="piece-more">
          <summary>{text("piece.subject.other")}</summary>
          <ol class="stack">
            {alternatives.map((found) => (
              <li key={found.notes.join(" ")} class="stack">
                <Candidate found={found} />
                <p>
                  <button type="button" class="button" onClick={() => void corrections.add(subjectIs(found))}>
                    {text("piece.subject.use")}
                  </button>
                </p>
              </li>
            ))}
          </ol>
        </details>
      )}
      <MarkByHand
        analysis={analysis}
        mark={mark}
        label={text("piece.subject.mark")}
        marked={(stretch) => void corrections.add(subjectIs(stretch))}
      />
    </section>
  );
}

function Candidate({ found }: { found: SubjectFound }) {
  const where = text("piece.subject.at", {
    hand: text(`hands.${found.hand}`),
    first: found.start.measure,
    beat: beat(found.start.beat),
    last: found.end.measure,
    lastbeat: beat(found.end.beat),
    n: found.notes.length,
  });
  return (
    <div>
      <p>
        <b>{where}</b> ({text("piece.sure", { n: Math.round(found.confidence * 100) })})
      </p>
      <p class="quiet">{found.reason}</p>
    </div>
  );
}
