/** After a try: at most three things, each with its place, a picture and the next thing to do; then again, or on. */
import { useState } from "preact/hooks";
import { paths } from "../../api/paths";
import type { AttemptPage, Finding, Today } from "../../api/types";
import { useKept } from "../../offline/kept";
import { address, go } from "../../router/router";
import { Drawing } from "../../score/Drawing";
import { text } from "../../strings/catalogue";
import { minutes, today } from "../../strings/phrases";
import type { Bench } from "./bench";

export function Result({ bench }: { bench: Bench }) {
  const result = bench.result.value;
  const { value: phase } = bench.phase;
  return (
    <section class="stack desk-result" aria-live="polite">
      {phase === "waiting" && <p class="notice">{text("outbox.kept")}</p>}
      {phase === "refused" && <p class="problem">{bench.refusal.value}</p>}
      {result && <Told bench={bench} />}
      {result?.next && <p class="desk-next">{result.next.sentence}</p>}
      {result && <Pause />}
      {result && <Pictures pictures={result.pictures} />}
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

function Told({ bench }: { bench: Bench }) {
  const findings = bench.findings.value;
  const clicks = bench.clicks.value;
  return (
    <>
      <Findings bench={bench} title="desk.findings" findings={findings.filter((finding) => !isPraise(finding))} />
      <Findings bench={bench} title="desk.praise" findings={findings.filter(isPraise)} />
      {clicks && <p class="desk-finding">{text(`desk.clicks.${clicks}`)}</p>}
    </>
  );
}

type FindingsProps = { bench: Bench; title: "desk.findings" | "desk.praise"; findings: readonly Finding[] };

function Findings({ bench, title, findings }: FindingsProps) {
  if (findings.length === 0) return null;
  return (
    <>
      <h2>{text(title)}</h2>
      <ol class="plain-list stack">
        {findings.map((finding) => (
          <li key={`${finding.kind}-${finding.place.offset}`} class="cloth stitched stack">
            <FindingCard bench={bench} finding={finding} />
          </li>
        ))}
      </ol>
    </>
  );
}

/** Where a finding lies is in its words, and marked on the score. */
function FindingCard({ bench, finding }: { bench: Bench; finding: Finding }) {
  const [silent, setSilent] = useState(false);
  const hear = async () => setSilent(!(await bench.hearDifference(finding.place.measure)));
  return (
    <>
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

function Pictures({ pictures }: { pictures: AttemptPage["pictures"] }) {
  const [first, ...others] = pictures;
  return (
    <>
      {first && <Drawing svg={first.svg} label={first.text} />}
      {others.length > 0 && (
        <details>
          <summary>{text("desk.pictures")}</summary>
          {others.map((picture) => (
            <Drawing key={picture.kind + picture.text} svg={picture.svg} label={picture.text} />
          ))}
        </details>
      )}
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
  );
}

function nextAddress(piece: number, next: { patch_id: string; step_id?: string | null }): string {
  return address("/desk/:piece/:patch/:step", { piece, patch: next.patch_id, step: next.step_id ?? "" });
}
