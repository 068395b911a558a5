/** After a try: at most three things, each with its place, a picture and the next thing to do; then again, or on. */
import { useState } from "preact/hooks";
import { paths } from "../../api/paths";
import type { AttemptPage, Finding, Today } from "../../api/types";
import { useKept } from "../../offline/kept";
import { address, go } from "../../router/router";
import { Drawing } from "../../score/Drawing";
import { text } from "../../strings/catalogue";
import { minutes, place, today } from "../../strings/phrases";
import type { Bench } from "./bench";

export function Result({ bench }: { bench: Bench }) {
  const result = bench.result.value;
  const { value: phase } = bench.phase;
  return (
    <section class="stack desk-result" aria-live="polite">
      {phase === "waiting" && <p class="notice">{text("outbox.kept")}</p>}
      {phase === "refused" && <p class="problem">{bench.refusal.value}</p>}
      {result && <Told bench={bench} result={result} />}
      {result && <Pause />}
      <Next bench={bench} result={result} />
    </section>
  );
}

/** When the minutes that the teacher set are over, a pause is proposed; going on stays possible. */
function Pause() {
  const plan = useKept<Today>(paths.today(today())).data;
  if (!plan || plan.minutes_done < plan.minutes) return null;
  return <p class="notice">{text("desk.pause", { minutes: minutes(plan.minutes_done) })}</p>;
}

function Told({ bench, result }: { bench: Bench; result: AttemptPage }) {
  const findings = bench.findings.value;
  const [first] = result.pictures;
  const clicks = bench.clicks.value;
  return (
    <>
      {findings.length > 0 && <h2>{text(findings.every(isPraise) ? "desk.praise" : "desk.findings")}</h2>}
      <ol class="plain-list stack">
        {findings.map((finding) => (
          <li key={`${finding.kind}-${finding.place.offset}`} class="cloth stitched stack">
            <FindingCard bench={bench} finding={finding} />
          </li>
        ))}
      </ol>
      {clicks && <p>{text(`desk.clicks.${clicks}`)}</p>}
      {first && <Drawing svg={first.svg} label={first.text} />}
      {result.pictures.length > 1 && (
        <details>
          <summary>{text("desk.pictures")}</summary>
          {result.pictures.slice(1).map((picture) => (
            <Drawing key={picture.kind + picture.text} svg={picture.svg} label={picture.text} />
          ))}
        </details>
      )}
    </>
  );
}

function FindingCard({ bench, finding }: { bench: Bench; finding: Finding }) {
  const [silent, setSilent] = useState(false);
  const hear = async () => setSilent(!(await bench.hearDifference(finding.place.measure)));
  return (
    <>
      <p class="quiet">{place(finding.place)}</p>
      <p class="desk-finding">{finding.text}</p>
      {finding.next_step && <p>{finding.next_step}</p>}
      {!isPraise(finding) && (
        <p>
          <button type="button" class="button" onClick={() => void hear()}>
            {text("desk.difference")}
          </button>
        </p>
      )}
      {silent && <p role="status">{text("desk.difference.none")}</p>}
    </>
  );
}

/** What went well needs no second hearing. */
function isPraise(finding: Finding): boolean {
  return finding.kind.startsWith("praise");
}

function Next({ bench, result }: { bench: Bench; result: AttemptPage | null }) {
  const next = result?.next;
  const onward = next?.step_id && next.step_id !== bench.step.id ? next : null;
  const { piece } = bench.drill;
  return (
    <>
      {next && <p class="desk-next">{next.sentence}</p>}
      <div class="desk-controls">
        <button
          type="button"
          class={onward ? "button" : "button button-main button-far"}
          onClick={() => (bench.step.kind === "listen" ? void bench.hear() : void bench.play())}
        >
          {text("desk.again")}
        </button>
        {onward ? (
          <button
            type="button"
            class="button button-main button-far"
            onClick={() => go(nextAddress(piece.id, onward))}
          >
            {text("desk.onward")}
          </button>
        ) : (
          <button type="button" class="button" onClick={() => bench.again()}>
            {text("desk.settings")}
          </button>
        )}
      </div>
    </>
  );
}

function nextAddress(piece: number, next: { patch_id: string; step_id?: string | null }): string {
  return address("/desk/:piece/:patch/:step", { piece, patch: next.patch_id, step: next.step_id ?? "" });
}
