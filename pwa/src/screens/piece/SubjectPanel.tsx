/** The subject: what was found and why, other candidates, and the teacher's own pencil. */
import { useState } from "preact/hooks";
import type { Analysis, SubjectFound } from "../../api/types";
import { text } from "../../strings/catalogue";
import { type Corrections, subjectIs } from "./corrections";

type Tapping = ((note: string) => void) | null;

type Props = {
  analysis: Analysis;
  corrections: Corrections;
  /** While a function is set, taps on the score go to it. */
  mark: (tapping: (before: Tapping) => Tapping) => void;
};

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
      <MarkByHand analysis={analysis} corrections={corrections} mark={mark} />
    </section>
  );
}

function Candidate({ found }: { found: SubjectFound }) {
  const where = text("piece.subject.at", {
    hand: text(`hands.${found.hand}`),
    first: found.start.measure,
    beat: found.start.beat,
    last: found.end.measure,
    lastbeat: found.end.beat,
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

/** Two taps on the score: the first note and the last. */
function MarkByHand({ analysis, corrections, mark }: Props) {
  const [step, setStep] = useState<"off" | "first" | "last">("off");
  const noteOf = (id: string) => analysis.notes.find((note) => note.id === id);
  const stop = () => {
    setStep("off");
    mark(() => null);
  };
  const begin = () => {
    setStep("first");
    mark(() => (first: string) => {
      setStep("last");
      mark(() => (last: string) => {
        const [from, to] = [noteOf(first), noteOf(last)];
        stop();
        if (from && to) void corrections.add(subjectIs({ hand: from.hand, start: from.place, end: to.place }));
      });
    });
  };
  return (
    <div class="row">
      <button type="button" class="button" aria-pressed={step !== "off"} onClick={step === "off" ? begin : stop}>
        {text("piece.subject.mark")}
      </button>
      <span role="status">
        {step === "first" && text("piece.subject.mark.how")}
        {step === "last" && text("piece.subject.mark.first")}
      </span>
    </div>
  );
}
