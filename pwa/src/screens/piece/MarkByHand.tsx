/** The teacher's own pencil: two taps on the score, on the first note of a stretch and on its last. */
import { useState } from "preact/hooks";
import type { Analysis } from "../../api/types";
import { text } from "../../strings/catalogue";
import type { Stretch } from "./corrections";

type Tapping = ((note: string) => void) | null;

/** While a function is set, taps on the score go to it. */
export type Mark = (tapping: (before: Tapping) => Tapping) => void;

type Props = { analysis: Analysis; mark: Mark; label: string; marked: (stretch: Stretch) => void };

export function MarkByHand({ analysis, mark, label, marked }: Props) {
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
        if (from && to) marked({ hand: from.hand, start: from.place, end: to.place });
      });
    });
  };
  return (
    <div class="row">
      <button type="button" class="button" aria-pressed={step !== "off"} onClick={step === "off" ? begin : stop}>
        {label}
      </button>
      <span role="status">
        {step === "first" && text("piece.mark.first")}
        {step === "last" && text("piece.mark.last")}
      </span>
    </div>
  );
}
