/** A fingering over and under the notes, on request; the teacher taps a note and writes another finger. */
import { Problem } from "../../design/asking";
import { text } from "../../strings/catalogue";
import { noteName } from "../../strings/phrases";
import type { Fingerings, Note } from "./fingering";

const FINGERS = [1, 2, 3, 4, 5] as const;

type Props = {
  fingering: Fingerings;
  notes: readonly Note[];
  chosen: string | null;
  choose: (note: string | null) => void;
};

export function FingeringPanel({ fingering, notes, chosen, choose }: Props) {
  const toggle = () => {
    choose(null);
    fingering.show(!fingering.shown);
  };
  return (
    <div class="stack">
      <p class="row">
        <button type="button" class="button" aria-pressed={fingering.shown} onClick={toggle}>
          {text(fingering.shown ? "fingering.hide" : "fingering.show")}
        </button>
      </p>
      {fingering.error && <Problem error={fingering.error} />}
      {fingering.waiting && <p role="status">{text("fingering.waiting")}</p>}
      {fingering.fingers.size > 0 && (
        <>
          <p>{text("fingering.what")}</p>
          <label class="field">
            {text("fingering.note")}
            <select value={chosen ?? ""} onChange={(event) => choose(event.currentTarget.value || null)}>
              <option value="">{text("fingering.choose")}</option>
              {notes.map((note) => (
                <option key={note.id} value={note.id}>
                  {noteName(note)}
                </option>
              ))}
            </select>
          </label>
        </>
      )}
    </div>
  );
}

type ChoiceProps = { fingering: Fingerings; note: Note };

/** The five fingers for one note; one that the teacher wrote is pressed. */
export function FingerChoice({ fingering, note }: ChoiceProps) {
  const present = fingering.fingers.get(note.id);
  if (!present) return null;
  return (
    <fieldset class="piece-fingers">
      <legend class="out-of-sight">{text("fingering.note")}</legend>
      <p role="status">
        {noteName(note)}. {text(present.own ? "fingering.yours" : "fingering.proposed", { n: present.finger })}
      </p>
      <div class="row">
        {FINGERS.map((finger) => (
          <button
            key={finger}
            type="button"
            class="button"
            aria-label={text("fingering.finger", { n: finger })}
            aria-pressed={present.own && finger === present.finger}
            onClick={() => void fingering.write(note.id, finger)}
          >
            {finger}
          </button>
        ))}
        {present.own && (
          <button type="button" class="button button-plain" onClick={() => void fingering.write(note.id, null)}>
            {text("fingering.leave")}
          </button>
        )}
      </div>
    </fieldset>
  );
}
