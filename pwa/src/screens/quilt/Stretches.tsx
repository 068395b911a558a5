/** Longer stretches, joined from patches: pairs and the whole piece. */
import type { Quilt } from "../../api/types";
import { address } from "../../router/router";
import { text } from "../../strings/catalogue";
import { measures } from "../../strings/phrases";

export function Stretches({ quilt }: { quilt: Quilt }) {
  const stretches = quilt.seams.filter((seam) => seam.kind !== "seam");
  if (!stretches.length) return null;
  return (
    <details class="stretches">
      <summary>{text("quilt.wholes")}</summary>
      <ul class="plain-list row">
        {stretches.map((stretch) => (
          <li key={stretch.id}>
            <a class="button" href={address("/desk/:piece/:patch", { piece: quilt.piece.id, patch: stretch.id })}>
              {measures(stretch.first_measure, stretch.last_measure)}: {text(`state.${stretch.both}`)}
            </a>
          </li>
        ))}
      </ul>
    </details>
  );
}
