/**
 * The cloth that patches are cut from, as SVG patterns, and the strokes that mark statements.
 *
 * State is told by texture: no cloth yet, only a chalk outline (new), long basting stitches (in work), a close
 * weave (secure), pins (due again). Diagonal strokes are kept for statements: they rise for upright ones and
 * fall for inverted ones. `ClothDefs` is put into the page once; everything refers to it by id.
 */
import type { Hands, PatchState } from "../api/types";
import "./cloth.css";

/** The texture that tells each state. */
const TEXTURES: Record<PatchState, string> = { new: "bare", "in work": "basted", secure: "woven", due: "pinned" };

const HANDS: readonly Hands[] = ["right", "both", "left"];

export function ClothDefs() {
  return (
    <svg width="0" height="0" class="cloth-defs" aria-hidden="true" focusable="false">
      <defs>
        {HANDS.map((hand) => (
          <Weaves key={hand} hand={hand} />
        ))}
        <pattern id="strokes-rise" width="8" height="8" patternUnits="userSpaceOnUse">
          <path class="stroke-upright" d="M-2 10L10 -2M-2 2L2 -2M6 10L10 6" />
        </pattern>
        <pattern id="strokes-fall" width="8" height="8" patternUnits="userSpaceOnUse">
          <path class="stroke-inverted" d="M-2 -2L10 10M6 -2L10 2M-2 6L2 10" />
        </pattern>
        {/* The same strokes in the units of engraved notation, where a staff space is 180. */}
        <pattern id="score-strokes-rise" href="#strokes-rise" patternTransform="scale(25)" />
        <pattern id="score-strokes-fall" href="#strokes-fall" patternTransform="scale(25)" />
      </defs>
    </svg>
  );
}

function Weaves({ hand }: { hand: Hands }) {
  const thread = `thread thread-${hand}`;
  return (
    <>
      <pattern id={`cloth-basted-${hand}`} width="26" height="14" patternUnits="userSpaceOnUse">
        <path class={thread} d="M2 4h14M15 11h14M-11 11h14" />
      </pattern>
      <pattern id={`cloth-woven-${hand}`} width="12" height="12" patternUnits="userSpaceOnUse">
        <path
          class={thread}
          d="M0.5 1.5h5M0.5 4.5h5M7.5 0.5v5M10.5 0.5v5M1.5 6.5v5M4.5 6.5v5M6.5 7.5h5M6.5 10.5h5"
        />
      </pattern>
      <pattern id={`cloth-pinned-${hand}`} width="18" height="18" patternUnits="userSpaceOnUse">
        <circle class={`pin pin-${hand}`} cx="5" cy="5" r="2.4" />
        <circle class={`pin pin-${hand}`} cx="14" cy="14" r="2.4" />
      </pattern>
    </>
  );
}

/** A patch as it lies in the quilt: right strip above, left strip below; a hand that rests is a chalk outline. */
export function PatchPicture({ hands, state }: { hands: Hands; state: PatchState }) {
  const stateOf = (hand: Hands) => (hands === hand || hands === "both" ? state : "new");
  return (
    <span class="patch-picture">
      <span class={hands === "left" ? "resting" : "playing"}>
        <Cloth hand="right" state={stateOf("right")} />
      </span>
      <span class={hands === "right" ? "resting" : "playing"}>
        <Cloth hand="left" state={stateOf("left")} />
      </span>
    </span>
  );
}

/** One piece of cloth: the hand by its place and tint, the state by its texture. Text stands beside or on it. */
export function Cloth({ hand, state }: { hand: Hands; state: PatchState }) {
  const texture = TEXTURES[state];
  return (
    <svg class={`cloth-piece cloth-${hand} is-${texture}`} aria-hidden="true" focusable="false">
      <rect class="ground" width="100%" height="100%" />
      {state !== "new" && <rect width="100%" height="100%" fill={`url(#cloth-${texture}-${hand})`} />}
    </svg>
  );
}
