/** With nothing listening the student judges: three questions, one tap each. */
import { useState } from "preact/hooks";
import { text } from "../../strings/catalogue";
import type { Judgement } from "./attempt";

const QUESTIONS = ["notes", "rhythm", "flow"] as const;
const ANSWERS = [3, 2, 1] as const;

export function Judging({ onJudged }: { onJudged: (judgement: Judgement) => void }) {
  const [given, setGiven] = useState<Partial<Judgement>>({});
  const asked = QUESTIONS.find((question) => given[question] === undefined) ?? "flow";
  const answer = (value: 1 | 2 | 3) => {
    const next = { ...given, [asked]: value };
    setGiven(next);
    const { notes, rhythm, flow } = next;
    if (notes && rhythm && flow) onJudged({ notes, rhythm, flow });
  };
  return (
    <section class="cloth stitched stack" aria-live="polite">
      <h2>{text(`desk.judge.${asked}`)}</h2>
      <div class="desk-answers">
        {ANSWERS.map((value) => (
          <button type="button" class="button" key={value} onClick={() => answer(value)}>
            {text(`desk.judge.${asked}.${value}`)}
          </button>
        ))}
      </div>
    </section>
  );
}
