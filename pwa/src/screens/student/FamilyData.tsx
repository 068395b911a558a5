/** What is kept belongs to the family: it can be taken away, and erased. */
import { send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Student } from "../../api/types";
import { Field, Form, type Typed } from "../../design/form";
import { go } from "../../router/router";
import { text } from "../../strings/catalogue";

export function FamilyData({ student }: { student: Student }) {
  const erase = async (typed: Typed) => {
    await send("POST", paths.erase(student.id), { nickname: typed.one("nickname") });
    go("/studio", { replace: true });
  };
  return (
    <section class="stack seam-above">
      <h2>{text("student.data")}</h2>
      <p>
        <a class="button" href={paths.export(student.id)} download={`${student.nickname}.json`}>
          {text("student.export")}
        </a>
      </p>
      <details>
        <summary class="student-erase">{text("student.erase")}</summary>
        <Form send={erase} label={text("student.erase.do")}>
          <p class="problem">{text("student.erase.how", { name: student.nickname })}</p>
          <Field name="nickname" label={text("studio.nickname")} required />
        </Form>
      </details>
    </section>
  );
}
