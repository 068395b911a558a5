/** The teacher's first page: students at a glance, pieces, and the ways to add both. */
import { paths } from "../../api/paths";
import type { PieceCard, Student } from "../../api/types";
import { Asking } from "../../design/asking";
import { useKept } from "../../offline/kept";
import { address } from "../../router/router";
import { session } from "../../session/session";
import { dayText, text } from "../../strings/catalogue";
import { keyName } from "../../strings/phrases";
import { AddStudent } from "./AddStudent";
import { ImportPiece } from "./ImportPiece";
import "./studio.css";

export default function StudioScreen() {
  const students = useKept<Student[]>(paths.students);
  const pieces = useKept<PieceCard[]>(paths.pieces);
  return (
    <div class="stack studio">
      <h1>{session.value?.studio_name || text("studio.title")}</h1>
      <section class="stack">
        <h2>{text("studio.students")}</h2>
        <Asking of={students}>{(found) => <StudentList students={found} />}</Asking>
        <AddStudent added={students.reload} />
      </section>
      <section class="stack seam-above">
        <h2>{text("studio.pieces")}</h2>
        <Asking of={pieces}>{(found) => <PieceList pieces={found} />}</Asking>
        <ImportPiece />
      </section>
    </div>
  );
}

function StudentList({ students }: { students: readonly Student[] }) {
  if (!students.length) return <p>{text("studio.students.none")}</p>;
  return (
    <ul class="plain-list studio-students">
      {students.map((student) => (
        <li key={student.id} class="cloth studio-student">
          <h3>
            <a href={address("/student/:student", { student: student.id })}>{student.nickname}</a>
          </h3>
          <p class="quiet">{text(`level.${student.level}`)}</p>
          <p>{text("studio.week", { n: Math.round(student.minutes_this_week) })}</p>
          <p>
            {student.last_practised
              ? text("studio.last", { day: dayText(student.last_practised) })
              : text("studio.never")}
          </p>
          <p>
            {student.next_lesson
              ? text("studio.lesson", { day: dayText(student.next_lesson) })
              : text("studio.lesson.none")}
          </p>
          <a
            class="button button-main"
            href={address("/brief/:student", { student: student.id })}
            aria-label={text("brief.title", { name: student.nickname })}
          >
            {text("studio.brief")}
          </a>
        </li>
      ))}
    </ul>
  );
}

function PieceList({ pieces }: { pieces: readonly PieceCard[] }) {
  if (!pieces.length) return <p>{text("studio.pieces.none")}</p>;
  return (
    <ul class="plain-list stack">
      {pieces.map((piece) => (
        <li key={piece.id} class="cloth studio-piece">
          <h3>
            <a href={address("/piece/:piece", { piece: piece.id })}>{piece.title}</a>
          </h3>
          <p class="quiet">
            {text("studio.piece.line", { key: keyName(piece.key), meter: piece.meter, measures: piece.measures })}
          </p>
          {piece.hands_guessed && <p class="notice">{text("studio.hands-guessed")}</p>}
        </li>
      ))}
    </ul>
  );
}
