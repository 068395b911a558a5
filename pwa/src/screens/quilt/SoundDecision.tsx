/** How a section shall sound: what the music invites, and what the student (or, finally, the teacher) decides. */
import { useEffect, useState } from "preact/hooks";
import { paths } from "../../api/paths";
import type { Decision, Decisions } from "../../api/types";
import { Asking } from "../../design/asking";
import { useKept } from "../../offline/kept";
import { type Outcome, post } from "../../offline/outbox";
import { person } from "../../session/session";
import { type Key, text } from "../../strings/catalogue";

const CHOICES = {
  shape: ["grow", "fade", "steady"],
  touch: ["separate", "joined"],
  leads: ["right", "left", "none"],
} as const;

type Aspect = keyof typeof CHOICES;
type Chosen = Pick<Decision, Aspect>;

export function SoundDecision(props: { piece: number; section: string; student: number | undefined }) {
  const path = paths.decisions(props.piece, props.student);
  const asked = useKept<Decisions>(path);
  return (
    <Asking of={asked}>
      {({ decisions }) => {
        const decision = decisions.find((found) => found.section === props.section);
        return decision ? <DecisionForm key={decision.section} decision={decision} path={path} /> : null;
      }}
    </Asking>
  );
}

function DecisionForm({ decision, path }: { decision: Decision; path: string }) {
  const [chosen, setChosen] = useState<Chosen>(decision);
  const [outcome, setOutcome] = useState<Outcome<Decisions> | null>(null);
  useEffect(() => setChosen(decision), [decision]);
  const final = decision.by === "teacher" && person.value?.role !== "teacher";
  const save = async () => {
    const client_id = crypto.randomUUID();
    const { shape, touch, leads } = chosen;
    const decisions = [{ section: decision.section, shape, touch, leads }];
    const body = { decisions, client_id, made_at: new Date().toISOString() };
    setOutcome(await post<Decisions>({ client_id, method: "PUT", path, body }));
  };
  return (
    <section class="stack seam-above">
      <h3>{text("quilt.sound.title")}</h3>
      {decision.invitation && <p>{text("quilt.sound.invites", { text: decision.invitation })}</p>}
      {decision.reason && <p class="quiet">{decision.reason}</p>}
      {final && <p class="notice">{text("quilt.sound.final")}</p>}
      {(Object.keys(CHOICES) as Aspect[]).map((aspect) => (
        <AspectChoice key={aspect} aspect={aspect} chosen={chosen} fixed={final} choose={setChosen} />
      ))}
      {!final && person.value?.role !== "parent" && (
        <p class="row">
          <button type="button" class="button" onClick={() => void save()}>
            {text("quilt.sound.save")}
          </button>
          <span role="status">{outcome && outcomeText(outcome)}</span>
        </p>
      )}
    </section>
  );
}

type AspectProps = { aspect: Aspect; chosen: Chosen; fixed: boolean; choose: (chosen: Chosen) => void };

function AspectChoice({ aspect, chosen, fixed, choose }: AspectProps) {
  return (
    <fieldset disabled={fixed}>
      <legend>{text(`quilt.sound.${aspect}`)}</legend>
      {CHOICES[aspect].map((value) => (
        <label key={value} class="choice">
          <input
            type="radio"
            name={aspect}
            checked={chosen[aspect] === value}
            onChange={() => choose({ ...chosen, [aspect]: value })}
          />
          {text(`quilt.sound.${value}` as Key)}
        </label>
      ))}
    </fieldset>
  );
}

function outcomeText(outcome: Outcome<unknown>): string {
  if (outcome.state === "refused") return outcome.sentence;
  return text(outcome.state === "arrived" ? "saved" : "outbox.kept");
}
