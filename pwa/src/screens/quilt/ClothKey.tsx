/** What the textures mean, in cloth and words. */
import type { PatchState } from "../../api/types";
import { Cloth } from "../../design/cloth";
import { text } from "../../strings/catalogue";

const STATES: readonly PatchState[] = ["new", "in work", "secure", "due"];

export function ClothKey() {
  return (
    <details class="cloth-key">
      <summary>{text("quilt.key")}</summary>
      <ul class="plain-list">
        {STATES.map((state) => (
          <li key={state}>
            <span class="swatch">
              <Cloth hand="both" state={state} />
            </span>
            {text(`state.${state}`)}
          </li>
        ))}
      </ul>
    </details>
  );
}
