/** The desk's one view: the notation, and below it what can be done now. */
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Finding } from "../../api/types";
import { HandsMark } from "../../design/hands";
import { go, guardLeaving } from "../../router/router";
import { LiveMarks } from "../../score/live";
import { deskSize, type Marks, ScoreView } from "../../score/ScoreView";
import { person } from "../../session/session";
import { text } from "../../strings/catalogue";
import { measures } from "../../strings/phrases";
import type { Bench } from "./bench";
import { Judging } from "./Judging";
import { KeyboardLine } from "./KeyboardLine";
import { Result } from "./Result";
import { SettingsPanel } from "./SettingsPanel";
import { TuningQuestion } from "./Tuned";

const NONE: readonly Finding[] = [];

export function Try({ bench }: { bench: Bench }) {
  const { drill, step } = bench;
  const [size, setSize] = useState(deskSize);
  const holder = useRef<HTMLDivElement>(null);
  useEffect(() => {
    bench.showOn(holder.current && new LiveMarks(holder.current));
    return () => bench.showOn(null);
  }, [bench]);
  useEffect(() => guardLeaving(() => mayLeave(bench)), [bench]);
  const phase = bench.phase.value;
  const findings = phase === "told" ? bench.findings.value : NONE;
  const marks = useMemo(() => spots(findings), [findings]);
  return (
    <article class="desk">
      <header class="desk-head">
        <h1>{step.title}</h1>
        <button type="button" class="button" onClick={() => go("/today")}>
          {text("desk.leave")}
        </button>
        <p class="row">
          <HandsMark hands={step.hands} /> {measures(drill.patch.first_measure, drill.patch.last_measure)}
        </p>
      </header>
      {phase === "ready" && <p class="desk-instruction">{step.instruction}</p>}
      <div class="desk-score cloth" ref={holder}>
        <ScoreView
          piece={drill.piece.id}
          first={drill.patch.first_measure}
          last={drill.patch.last_measure}
          hands={step.hands}
          size={size}
          student={studentHere()}
          marks={marks}
          label={text("desk.score", { measures: measures(drill.patch.first_measure, drill.patch.last_measure) })}
          onNote={(id) => bench.tap(id)}
        />
      </div>
      <TuningQuestion bench={bench} />
      <Hints bench={bench} />
      {phase === "judging" && <Judging onJudged={(judgement) => bench.judge(judgement)} />}
      {(phase === "told" || phase === "waiting" || phase === "refused") && <Result bench={bench} />}
      <Controls bench={bench} />
      {phase === "ready" && (
        <>
          <KeyboardLine bench={bench} />
          <SettingsPanel bench={bench} size={size} onSize={setSize} />
        </>
      )}
    </article>
  );
}

/** Whose decisions are written into the score; a teacher at the desk sees the piece as it is printed. */
function studentHere(): number | undefined {
  return person.value?.role === "student" ? person.value.id : undefined;
}

/** What is being played would be lost without a word. */
function mayLeave(bench: Bench): boolean {
  return bench.phase.value !== "playing" || confirm(text("desk.leave.sure"));
}

function spots(findings: readonly Finding[]): Marks {
  return new Map(findings.flatMap((finding) => finding.notes.map((id) => [id, "spot"] as const)));
}

function Hints({ bench }: { bench: Bench }) {
  const hint = bench.hint.value;
  return (
    <div role="status" class="stack">
      {hint && <p class="notice">{text(`desk.hint.${hint}`)}</p>}
    </div>
  );
}

/** The large buttons, always at the same place under the thumb. */
function Controls({ bench }: { bench: Bench }) {
  const phase = bench.phase.value;
  switch (phase) {
    case "ready":
      return (
        <div class="desk-controls">
          {bench.step.kind !== "listen" && (
            <button type="button" class="button button-main button-far" onClick={() => void bench.play()}>
              {text("desk.play")}
            </button>
          )}
          <button
            type="button"
            class={bench.step.kind === "listen" ? "button button-main button-far" : "button"}
            onClick={() => void bench.hear()}
          >
            {text("desk.hear")}
          </button>
        </div>
      );
    case "counting":
    case "playing":
    case "hearing":
      return (
        <div class="desk-controls">
          <p class="desk-count" aria-live="assertive">
            {phase === "counting" ? bench.countLeft.value || "" : text(`desk.now.${phase}`)}
          </p>
          <button type="button" class="button button-far" onClick={() => bench.stop()}>
            {text("desk.stop")}
          </button>
        </div>
      );
    case "sending":
      return (
        <p class="desk-controls quiet" role="status">
          {text("desk.sending")}
        </p>
      );
    default:
      return null;
  }
}
