/** One student, for the teacher: what is asked, which pieces, who may come in, and the family's data. */
import { send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Student } from "../../api/types";
import { Asking } from "../../design/asking";
import { Choice, Field, Form, type Typed } from "../../design/form";
import { useKept } from "../../offline/kept";
import { address, type Params } from "../../router/router";
import { text, weekdayName } from "../../strings/catalogue";
import { Assign } from "./Assign";
import { ComingDays } from "./ComingDays";
import { FamilyData } from "./FamilyData";
import { Links } from "./Links";
import "./student.css";

export default function StudentScreen({ params }: { params: Params }) {
  const id = Number(params.student);
  const students = useKept<Student[]>(paths.students);
  return (
    <div class="stack student">
      <Asking of={students}>
        {(found) => {
          const student = found.find((one) => one.id === id);
          return student ? (
            <OneStudent student={student} reload={students.reload} />
          ) : (
            <p>{text("student.unknown")}</p>
          );
        }}
      </Asking>
    </div>
  );
}

function OneStudent({ student, reload }: { student: Student; reload: () => Promise<void> }) {
  return (
    <>
      <header class="stack">
        <h1>{student.nickname}</h1>
        <p class="row">
          <a class="button button-main" href={address("/brief/:student", { student: student.id })}>
            {text("studio.brief")}
          </a>
          <a class="button" href={address("/log/:student", { student: student.id })}>
            {text("student.log")}
          </a>
        </p>
      </header>
      <Settings student={student} reload={reload} />
      <Assign student={student.id} />
      <ComingDays student={student.id} />
      <Links student={student} />
      <FamilyData student={student} />
    </>
  );
}

const EVERY_WEEKS = [0, 1, 2, 3, 4] as const;
const LEVELS = ["early", "intermediate", "advanced"] as const;
const WEEKDAYS = [0, 1, 2, 3, 4, 5, 6] as const;

function againText(weeks: number): string {
  return weeks ? text("student.lessons.every", { n: weeks }) : text("student.lessons.once");
}

function Settings({ student, reload }: { student: Student; reload: () => Promise<void> }) {
  const save = async (typed: Typed) => {
    await send("PATCH", paths.student(student.id), {
      minutes: Number(typed.one("minutes")),
      rest_days: typed.all("rest").map(Number),
      lesson_date: typed.one("lesson") || null,
      lesson_every_weeks: Number(typed.one("lessons")),
      level: typed.one("level"),
      note: typed.one("note"),
    });
    await reload();
  };
  return (
    <section class="stack seam-above">
      <h2>{text("student.settings")}</h2>
      <Form send={save} label={text("save")}>
        <label class="field">
          {text("student.note")}
          <span class="quiet">{text("student.note.why")}</span>
          <textarea name="note" rows={3} maxLength={2000} defaultValue={student.note} />
        </label>
        <div class="fields">
          <Field
            name="minutes"
            label={text("student.minutes")}
            type="number"
            value={student.minutes}
            min={5}
            max={120}
          />
          <Field name="lesson" label={text("student.lesson")} type="date" value={student.lesson_date ?? ""} />
          <Choice
            name="lessons"
            label={text("student.lessons")}
            value={String(student.lesson_every_weeks)}
            of={EVERY_WEEKS.map((weeks) => ({ value: String(weeks), label: againText(weeks) }))}
          />
          <Choice
            name="level"
            label={text("studio.level")}
            value={student.level}
            of={LEVELS.map((value) => ({ value, label: text(`level.${value}`) }))}
          />
        </div>
        <fieldset>
          <legend>{text("student.rest")}</legend>
          {WEEKDAYS.map((day) => (
            <label key={day} class="choice">
              <input type="checkbox" name="rest" value={day} defaultChecked={student.rest_days.includes(day)} />
              {weekdayName(day)}
            </label>
          ))}
        </fieldset>
      </Form>
    </section>
  );
}
