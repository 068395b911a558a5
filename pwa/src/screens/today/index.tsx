/** What to do now, why, and one tap to the instrument. Readable from the piano stool. */
import { useEffect, useState } from "preact/hooks";
import { paths } from "../../api/paths";
import type { Today, TodayItem } from "../../api/types";
import { Asking } from "../../design/asking";
import { PatchPicture } from "../../design/cloth";
import { useKept } from "../../offline/kept";
import { packToday } from "../../offline/packing";
import { address } from "../../router/router";
import { dayText, text } from "../../strings/catalogue";
import { measures, today } from "../../strings/phrases";
import { Tape } from "./Tape";
import "./today.css";

export default function TodayScreen() {
  const day = today();
  const asked = useKept<Today>(paths.today(day));
  const [packed, setPacked] = useState(false);
  useEffect(() => {
    if (asked.data && !asked.stale) void packToday(asked.data).then(setPacked);
  }, [asked.data, asked.stale]);
  return (
    <div class="today stack">
      <header class="today-head">
        <h1>{text("today.title")}</h1>
        <p class="quiet">{dayText(day, "long")}</p>
      </header>
      <Asking of={asked}>{(found) => <Plan plan={found} />}</Asking>
      <p class="quiet" role="status">
        {packed && text("today.packed")}
      </p>
    </div>
  );
}

function Plan({ plan }: { plan: Today }) {
  const [first, ...others] = plan.items;
  return (
    <>
      {plan.note_from_teacher && <TeachersNote note={plan.note_from_teacher} />}
      {first ? (
        <Now item={first} />
      ) : (
        <p class="today-far">{text(plan.rest_day ? "today.rest" : "today.nothing")}</p>
      )}
      <Tape minutes={plan.minutes} done={plan.minutes_done} items={plan.items} />
      {others.length > 0 && <Later items={others} />}
      {plan.next_lesson && <p class="quiet">{text("today.lesson", { day: dayText(plan.next_lesson, "long") })}</p>}
    </>
  );
}

function TeachersNote({ note }: { note: string }) {
  return (
    <section class="today-note">
      <h2 class="label">{text("today.note")}</h2>
      <p class="today-far">{note}</p>
    </section>
  );
}

function Now({ item }: { item: TodayItem }) {
  return (
    <section class="cloth stitched today-now" aria-labelledby="now">
      <div class="today-head-of">
        <PatchPicture hands={item.hands} state={item.state} />
        <div>
          <p class="today-piece">{item.piece_title}</p>
          <h2 id="now">{item.title}</h2>
        </div>
      </div>
      <What item={item} />
      <p class="today-far">
        <span class="out-of-sight">{text("today.why")}: </span>
        {item.reason}
      </p>
      <a class="button button-main button-far today-start" href={addressOf(item)}>
        {text(item.kind === "puzzle" ? "today.start.puzzle" : "today.start")}
        <span class="out-of-sight">{item.title}</span>
      </a>
    </section>
  );
}

function Later({ items }: { items: readonly TodayItem[] }) {
  return (
    <section class="stack seam-above">
      <h2>{text("today.then")}</h2>
      <ol class="plain-list stack">
        {items.map((item) => (
          <li key={`${item.kind} ${item.patch_id} ${item.step_id} ${item.puzzle_id}`}>
            <a class="cloth today-later" href={addressOf(item)}>
              <PatchPicture hands={item.hands} state={item.state} />
              <span class="today-later-title">{item.title}</span>
              <What item={item} />
              <span class="quiet">{item.reason}</span>
            </a>
          </li>
        ))}
      </ol>
    </section>
  );
}

function What({ item }: { item: TodayItem }) {
  return (
    <span class="today-what">
      {item.kind !== "puzzle" && <span>{text(`hands.${item.hands}`)}</span>}
      <span>{measures(item.first_measure, item.last_measure, "short")}</span>
      <span>{text("minutes.short", { n: Math.round(item.minutes) })}</span>
    </span>
  );
}

/** Where an item is done: a puzzle on the score, everything else at the desk. */
function addressOf(item: TodayItem): string {
  if (item.kind === "puzzle") {
    if (!item.puzzle_id) return address("/puzzle/:piece", { piece: item.piece_id });
    const puzzle = address("/puzzle/:piece/:puzzle", { piece: item.piece_id, puzzle: item.puzzle_id });
    return `${puzzle}?patch=${encodeURIComponent(item.patch_id)}`;
  }
  return address("/desk/:piece/:patch/:step", { piece: item.piece_id, patch: item.patch_id, step: item.step_id });
}
