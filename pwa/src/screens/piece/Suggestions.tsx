/** What the analysis invites; proposals about style that the teacher accepts, edits or drops. */
import { useState } from "preact/hooks";
import type { Analysis, SuggestionFound } from "../../api/types";
import { text } from "../../strings/catalogue";
import { place } from "../../strings/phrases";
import { type Correction, type Corrections, suggestion } from "./corrections";

export function Suggestions({ analysis, corrections }: { analysis: Analysis; corrections: Corrections }) {
  return (
    <section class="stack seam-above">
      <h2>{text("piece.suggestions")}</h2>
      <p class="quiet">
        {text(analysis.suggestions.length ? "piece.suggestions.what" : "piece.suggestions.none")}
      </p>
      {KINDS.map((kind) => {
        const ofKind = analysis.suggestions.filter((found) => found.kind === kind);
        return ofKind.length > 0 && <Group key={kind} kind={kind} found={ofKind} corrections={corrections} />;
      })}
    </section>
  );
}

const KINDS = ["grow", "ease", "separate", "balance", "arrive"] as const;

type GroupProps = { kind: (typeof KINDS)[number]; found: readonly SuggestionFound[]; corrections: Corrections };

function Group({ kind, found, corrections }: GroupProps) {
  return (
    <details class="piece-more">
      <summary>{text(`piece.kind.${kind}`, { n: found.length })}</summary>
      <ul class="plain-list stack">
        {found.map((one) => (
          <li key={one.id} class="cloth stack">
            <OneSuggestion found={one} said={saidAbout(one, corrections)} corrections={corrections} />
          </li>
        ))}
      </ul>
    </details>
  );
}

function saidAbout(found: SuggestionFound, corrections: Corrections): Correction | undefined {
  return corrections.all.find((correction) => correction.kind === "suggestion" && correction.id === found.id);
}

type Props = { found: SuggestionFound; said: Correction | undefined; corrections: Corrections };

function OneSuggestion({ found, said, corrections }: Props) {
  const [editing, setEditing] = useState(false);
  const wording = typeof said?.text === "string" ? said.text : found.text;
  const say = (decision: "accept" | "edit" | "drop", edited?: string) => {
    setEditing(false);
    void corrections.add(suggestion(found, decision, edited));
  };
  return (
    <>
      <p>
        <b>{place(found.place)}</b>: {wording}{" "}
        {said && (
          <i>({text(said.decision === "drop" ? "piece.suggestion.dropped" : "piece.suggestion.accepted")})</i>
        )}
      </p>
      <p class="quiet">{text("piece.suggestion.why", { reason: found.reason })}</p>
      {editing && <Edit wording={wording} save={(edited) => say("edit", edited)} />}
      <p class="row">
        <button type="button" class="button" onClick={() => say("accept")}>
          {text("piece.suggestion.accept")}
        </button>
        <button type="button" class="button" aria-expanded={editing} onClick={() => setEditing(!editing)}>
          {text("piece.suggestion.edit")}
        </button>
        <button type="button" class="button" onClick={() => say("drop")}>
          {text("piece.suggestion.drop")}
        </button>
      </p>
    </>
  );
}

function Edit({ wording, save }: { wording: string; save: (edited: string) => void }) {
  const [edited, setEdited] = useState(wording);
  return (
    <div class="stack">
      <label class="field">
        {text("piece.suggestion.text")}
        <textarea rows={3} value={edited} onInput={(event) => setEdited(event.currentTarget.value)} />
      </label>
      <p>
        <button type="button" class="button button-main" onClick={() => save(edited)}>
          {text("save")}
        </button>
      </p>
    </div>
  );
}
