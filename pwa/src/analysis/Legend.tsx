/** How statements are marked in the score. */
import { text } from "../strings/catalogue";
import "./analysis.css";

const BOX = "M2 3H44M2 23H44";
const ENDS = { closed: `${BOX}M2 3V23M44 3V23`, open: `${BOX}M2 3V23` } as const;

const SAMPLES = [
  { key: "piece.legend.upright", form: "upright", strokes: "rise", outline: ENDS.closed },
  { key: "piece.legend.inverted", form: "inverted", strokes: "fall", outline: ENDS.closed },
  { key: "piece.legend.shortened", form: "upright", strokes: "rise", outline: ENDS.open },
  {
    key: "piece.legend.extended",
    form: "upright",
    strokes: "rise",
    outline: `${ENDS.closed}M44 13H56l-4 -4m4 4l-4 4`,
  },
] as const;

export function Legend() {
  return (
    <ul class="plain-list legend">
      {SAMPLES.map(({ key, form, strokes, outline }) => (
        <li key={key}>
          <svg viewBox="0 0 58 26" width="58" height="26" aria-hidden="true" focusable="false">
            <rect x="2" y="3" width="42" height="20" fill={`url(#strokes-${strokes})`} />
            <path class={`legend-edge legend-${form}`} d={outline} />
          </svg>
          {text(key)}
        </li>
      ))}
    </ul>
  );
}
