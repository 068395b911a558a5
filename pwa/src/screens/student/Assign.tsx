/** Which pieces a student works on, which sections of them, and how fast they shall go in the end. */
import { useState } from "preact/hooks";
import { send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Assigned, PieceCard, Quilt } from "../../api/types";
import { Asking } from "../../design/asking";
import { Form, type Typed } from "../../design/form";
import { useKept } from "../../offline/kept";
import { address } from "../../router/router";
import { text } from "../../strings/catalogue";

export function Assign({ student }: { student: number }) {
  const pieces = useKept<PieceCard[]>(paths.pieces);
  const assigned = useKept<Assigned[]>(paths.assignments(student));
  return (
    <section class="stack seam-above">
      <h2>{text("student.assign")}</h2>
      <Asking of={pieces}>
        {(all) => (
          <Asking of={assigned}>
            {(given) => <AssignForm student={student} pieces={all} given={given} reload={assigned.reload} />}
          </Asking>
        )}
      </Asking>
    </section>
  );
}

type FormProps = {
  student: number;
  pieces: readonly PieceCard[];
  given: readonly Assigned[];
  reload: () => Promise<void>;
};

function AssignForm({ student, pieces, given, reload }: FormProps) {
  if (!pieces.length) return <p>{text("student.assign.none")}</p>;
  const save = async (typed: Typed) => {
    const body = typed.all("piece").map((id) => ({
      piece_id: Number(id),
      goal_tempo: Number(typed.one(`tempo ${id}`)) || null,
      sections: typed.all(`section ${id}`),
    }));
    await send("PUT", paths.assignments(student), body);
    await reload();
  };
  return (
    <Form send={save} label={text("student.assign.save")}>
      {pieces.map((piece) => (
        <OnePiece
          key={piece.id}
          student={student}
          piece={piece}
          given={given.find((assignment) => assignment.piece_id === piece.id)}
        />
      ))}
    </Form>
  );
}

const TEMPO_UNKNOWN = 60;

function OnePiece(props: { student: number; piece: PieceCard; given: Assigned | undefined }) {
  const { student, piece, given } = props;
  const [chosen, setChosen] = useState(given !== undefined);
  const tempo = given?.goal_tempo ?? piece.tempo ?? TEMPO_UNKNOWN;
  return (
    <fieldset class="cloth stack">
      <legend class="out-of-sight">{piece.title}</legend>
      <label class="choice student-piece">
        <input
          type="checkbox"
          name="piece"
          value={piece.id}
          checked={chosen}
          onChange={(event) => setChosen(event.currentTarget.checked)}
        />
        {piece.title}
      </label>
      {chosen && (
        <>
          <label class="field student-tempo">
            {text("student.assign.tempo")}
            <input type="number" name={`tempo ${piece.id}`} min={10} max={400} step="any" defaultValue={tempo} />
          </label>
          {given && <Sections student={student} given={given} />}
        </>
      )}
    </fieldset>
  );
}

/** Sections are known once the piece is assigned: the quilt is cut for the student's level. */
function Sections({ student, given }: { student: number; given: Assigned }) {
  const quilt = useKept<Quilt>(paths.quilt(given.piece_id, student));
  return (
    <Asking of={quilt}>
      {({ sections, piece }) => (
        <>
          <fieldset>
            <legend>{text("student.assign.sections")}</legend>
            {sections.map(({ label }) => (
              <label key={label} class="choice">
                <input
                  type="checkbox"
                  name={`section ${piece.id}`}
                  value={label}
                  defaultChecked={given.sections.includes(label)}
                />
                {label}
              </label>
            ))}
          </fieldset>
          <p>
            <a class="button" href={`${address("/quilt/:piece", { piece: piece.id })}?student=${student}`}>
              {text("student.assign.quilt", { title: piece.title })}
            </a>
          </p>
        </>
      )}
    </Asking>
  );
}
