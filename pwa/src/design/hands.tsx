/** A hand, shown by position: the upper strip is the right hand, the lower the left; text always beside it. */
import type { Hands } from "../api/types";
import { text } from "../strings/catalogue";
import "./hands.css";

export function HandsMark({ hands }: { hands: Hands }) {
  return (
    <span class="hands-mark">
      <svg viewBox="0 0 30 26" width="30" height="26" aria-hidden="true" focusable="false">
        <rect class={hands === "left" ? "strip" : "strip strip-right"} x="1.5" y="1.5" width="27" height="10" />
        <rect class={hands === "right" ? "strip" : "strip strip-left"} x="1.5" y="14.5" width="27" height="10" />
      </svg>
      {text(`hands.${hands}`)}
    </span>
  );
}
