/** The coming days, supposing that each is practised as planned. */
import { paths } from "../../api/paths";
import type { Plan, PlannedDay } from "../../api/types";
import { Asking } from "../../design/asking";
import { useKept } from "../../offline/kept";
import { dayText, text } from "../../strings/catalogue";
import { minutes } from "../../strings/phrases";

export function ComingDays({ student }: { student: number }) {
  const plan = useKept<Plan>(paths.plan(student));
  return (
    <section class="stack seam-above">
      <h2>{text("student.plan")}</h2>
      <Asking of={plan}>
        {({ days }) => (
          <ol class="plain-list coming-days">
            {days.map((day) => (
              <li key={day.date}>
                <OneDay day={day} />
              </li>
            ))}
          </ol>
        )}
      </Asking>
    </section>
  );
}

function OneDay({ day }: { day: PlannedDay }) {
  return (
    <>
      <p>
        <b>{dayText(day.date)}</b>
        {day.lesson && ` · ${text("student.plan.lesson")}`}
        {" · "}
        {day.rest_day ? text("student.plan.rest") : minutes(day.minutes)}
      </p>
      {day.items.length > 0 && (
        <ul>
          {day.items.map((item) => (
            <li key={`${item.kind} ${item.patch_id} ${item.step_id}`}>{item.title}</li>
          ))}
        </ul>
      )}
    </>
  );
}
