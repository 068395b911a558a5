/** A new student: a nickname and how they practise. */
import { send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Student } from "../../api/types";
import { Choice, Field, Form, type Typed } from "../../design/form";
import { address, go } from "../../router/router";
import { text } from "../../strings/catalogue";

const LEVELS = ["early", "intermediate", "advanced"] as const;
const LANGUAGES = ["en", "de"] as const;

export function AddStudent({ added }: { added: () => Promise<void> }) {
  const add = async (typed: Typed) => {
    const student = await send<Student>("POST", paths.students, {
      nickname: typed.one("nickname"),
      level: typed.one("level"),
      language: typed.one("language"),
      minutes: Number(typed.one("minutes")),
    });
    await added();
    go(address("/student/:student", { student: student.id }));
  };
  return (
    <details class="studio-add">
      <summary>{text("studio.add")}</summary>
      <Form send={add} label={text("studio.add.do")} main>
        <div class="fields">
          <Field name="nickname" label={text("studio.nickname")} why={text("studio.nickname.why")} required />
          <Field
            name="minutes"
            label={text("studio.minutes")}
            type="number"
            value={20}
            min={5}
            max={120}
            required
          />
          <Choice
            name="level"
            label={text("studio.level")}
            value="early"
            of={LEVELS.map((value) => ({ value, label: text(`level.${value}`) }))}
          />
          <Choice
            name="language"
            label={text("studio.language")}
            value="en"
            of={LANGUAGES.map((value) => ({ value, label: text(`language.${value}`) }))}
          />
        </div>
      </Form>
    </details>
  );
}
