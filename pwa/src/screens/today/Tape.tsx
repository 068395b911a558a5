/** A tailor's tape: the minutes that the teacher set, the part that is done, and where the day's pieces lie on it. */
import type { TodayItem } from "../../api/types";
import { text } from "../../strings/catalogue";

const HEIGHT = 40;

export function Tape({ minutes, done, items }: { minutes: number; done: number; items: readonly TodayItem[] }) {
  const length = Math.max(minutes, 1);
  const words = text("today.tape", { done: Math.round(done), minutes });
  return (
    <figure class="tape">
      <svg
        viewBox={`0 0 ${length * 20} ${HEIGHT}`}
        preserveAspectRatio="none"
        aria-hidden="true"
        focusable="false"
      >
        <rect class="tape-ground" width="100%" height={HEIGHT} />
        <rect class="tape-done" width={Math.min(done, length) * 20} height={HEIGHT} />
        {marks(length).map((minute) => (
          <path key={minute} class="tape-mark" d={`M${minute * 20} ${HEIGHT}V${minute % 5 === 0 ? 14 : 26}`} />
        ))}
        {ends(items, done, length).map((end) => (
          <path key={end} class="tape-cut" d={`M${end * 20} 0V${HEIGHT}`} />
        ))}
      </svg>
      <figcaption>{words}</figcaption>
    </figure>
  );
}

function marks(length: number): number[] {
  return Array.from({ length: Math.max(0, Math.ceil(length) - 1) }, (_, minute) => minute + 1);
}

/** Where one thing ends and the next begins, in minutes from the start of the tape. */
function ends(items: readonly TodayItem[], done: number, length: number): number[] {
  let at = done;
  return items
    .map((item) => {
      at += item.minutes;
      return at;
    })
    .filter((end) => end < length);
}
