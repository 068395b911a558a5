/** How the piano is set: asked once while playing, shown and taken back in the settings. */
import { text } from "../../strings/catalogue";
import type { Bench } from "./bench";

const OCTAVE = 12;

/** Asked when everything is off by one interval; playing goes on meanwhile. */
export function TuningQuestion({ bench }: { bench: Bench }) {
  const semitones = bench.tuning.asked.value;
  if (semitones === 0) return null;
  return (
    <section class="notice stack" aria-live="polite">
      <p>
        {text(semitones > 0 ? "desk.tuning.up" : "desk.tuning.down", { interval: interval(semitones) })}{" "}
        {text("desk.tuning.ask")}
      </p>
      <p class="row">
        <button type="button" class="button" onClick={() => bench.answerTuning(true)}>
          {text("desk.tuning.yes")}
        </button>
        <button type="button" class="button" onClick={() => bench.answerTuning(false)}>
          {text("desk.tuning.no")}
        </button>
      </p>
    </section>
  );
}

export function TuningKept({ bench }: { bench: Bench }) {
  const semitones = bench.tuning.by.value;
  if (semitones === 0) return null;
  return (
    <div class="row">
      <span>
        {text(semitones > 0 ? "desk.tuning.kept.up" : "desk.tuning.kept.down", { interval: interval(semitones) })}
      </span>
      <button type="button" class="button" onClick={() => bench.tuning.keep(0)}>
        {text("desk.tuning.forget")}
      </button>
    </div>
  );
}

function interval(semitones: number): string {
  const n = Math.abs(semitones);
  return n === OCTAVE ? text("desk.interval.octave") : text("desk.interval", { n });
}
