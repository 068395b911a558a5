/** For parents: that practice happened, what was asked, and how to help. */
import { useState } from "preact/hooks";
import { paths } from "../../api/paths";
import type { Log, LoggedDay, LoggedWeek, Person } from "../../api/types";
import { Asking } from "../../design/asking";
import { useKept } from "../../offline/kept";
import { address, type Params } from "../../router/router";
import { session } from "../../session/session";
import { dayText, text } from "../../strings/catalogue";
import { measures, minutes } from "../../strings/phrases";
import { DayStrip } from "./DayStrip";
import "./log.css";

const WEEKS_AT_FIRST = 4;

export default function LogScreen({ params }: { params: Params }) {
  const own = session.value?.students ?? [];
  const [only] = own;
  if (params.student) return <OneLog student={Number(params.student)} others={own} />;
  return only ? <OneLog student={only.id} others={own} /> : <p>{text("log.none")}</p>;
}

function OneLog({ student, others }: { student: number; others: readonly Person[] }) {
  const [weeks, setWeeks] = useState(WEEKS_AT_FIRST);
  const asked = useKept<Log>(paths.log(student, weeks));
  return (
    <div class="stack log">
      <Asking of={asked}>
        {(log) => (
          <>
            <header class="stack">
              <h1>{text("log.of", { name: log.student.nickname })}</h1>
              {others.length > 1 && <Children students={others} shown={student} />}
              {log.student.next_lesson && (
                <p>{text("log.lesson", { day: dayText(log.student.next_lesson, "long") })}</p>
              )}
            </header>
            <Help log={log} />
            {log.weeks.map((week) => (
              <Week key={week.start} week={week} asked={log.student.minutes} />
            ))}
            <p>
              <button type="button" class="button" onClick={() => setWeeks(weeks + WEEKS_AT_FIRST)}>
                {text("log.more")}
              </button>
            </p>
          </>
        )}
      </Asking>
    </div>
  );
}

function Children({ students, shown }: { students: readonly Person[]; shown: number }) {
  return (
    <nav class="row" aria-label={text("log.choose")}>
      {students.map(({ id, nickname }) => (
        <a
          key={id}
          class="button"
          href={address("/log/:student", { student: id })}
          aria-current={id === shown ? "page" : undefined}
        >
          {nickname}
        </a>
      ))}
    </nav>
  );
}

function Help({ log }: { log: Log }) {
  if (!log.how_to_help.length) return null;
  return (
    <section class="cloth stitched stack">
      <h2>{text("log.help")}</h2>
      <ul>
        {log.how_to_help.map((way) => (
          <li key={way}>{way}</li>
        ))}
      </ul>
    </section>
  );
}

function Week({ week, asked }: { week: LoggedWeek; asked: number }) {
  return (
    <section class="stack seam-above">
      <div class="log-week">
        <h2>{text("log.week", { day: dayText(week.start) })}</h2>
        <p>{minutes(week.minutes)}</p>
      </div>
      <section class="log-asked">
        <h3>{text("log.asked")}</h3>
        {week.asked.length ? week.asked.map((note) => <p key={note}>{note}</p>) : <p>{text("log.asked.none")}</p>}
      </section>
      {!week.days.length && <p class="quiet">{text("log.week.none")}</p>}
      <ol class="plain-list log-days">
        {week.days.map((day) => (
          <li key={day.date}>
            <Day day={day} asked={asked} />
          </li>
        ))}
      </ol>
    </section>
  );
}

function Day({ day, asked }: { day: LoggedDay; asked: number }) {
  return (
    <details class="log-day">
      <summary>
        <b>{dayText(day.date)}</b>
        <DayStrip done={day.minutes} alone={day.self_judged_minutes} asked={asked} />
        <span>{text("minutes.short", { n: Math.round(day.minutes) })}</span>
      </summary>
      {day.self_judged_minutes > 0 && <p>{text("log.self", { n: Math.round(day.self_judged_minutes) })}</p>}
      <ul>
        {day.patches.map((patch) => (
          <li key={`${patch.piece_id} ${patch.patch_id} ${patch.hands}`}>
            <Practised patch={patch} />
          </li>
        ))}
        {day.puzzles > 0 && <li>{text("log.puzzles", { n: day.puzzles })}</li>}
      </ul>
    </details>
  );
}

function Practised({ patch }: { patch: LoggedDay["patches"][number] }) {
  const range = measures(patch.first_measure, patch.last_measure);
  const facts = [
    `${patch.piece_title}, ${range}, ${text(`hands.${patch.hands}`)}`,
    text("log.attempts", { n: patch.attempts }),
    text("log.met", { n: patch.met_goals }),
    ...(patch.self_judged ? [text("log.self.attempts", { n: patch.self_judged })] : []),
  ];
  return <>{facts.join("; ")}</>;
}
