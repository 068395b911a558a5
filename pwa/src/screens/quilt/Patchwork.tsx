/** The patches in reading order, three strips each, with the stitches that join a patch to the next. */
import type { Hands, PatchState, Quilt, QuiltPatch, QuiltSection } from "../../api/types";
import { Cloth } from "../../design/cloth";
import { text } from "../../strings/catalogue";
import { measures, sectionLabel } from "../../strings/phrases";
import { sectionTitle } from "./index";

const STRIPS: readonly Hands[] = ["right", "both", "left"];

type Opening = (section: QuiltSection) => void;

export function Patchwork({ quilt, open }: { quilt: Quilt; open: Opening }) {
  return (
    <ol class="plain-list patchwork">
      {quilt.sections.map((section, index) => (
        <li key={section.label}>
          <Block section={section} open={open} />
          {index < quilt.sections.length - 1 && <Stitches seam={seamAfter(quilt, section)} />}
        </li>
      ))}
    </ol>
  );
}

function Block({ section, open }: { section: QuiltSection; open: Opening }) {
  const states = STRIPS.map((hand) => ({ hand, state: sectionState(section, hand) }));
  const spoken = states.map(({ hand, state }) => `${text(`hands.${hand}`)}: ${text(`state.${state}`)}`);
  return (
    <button
      type="button"
      class="block"
      aria-label={`${sectionTitle(section)}. ${spoken.join(", ")}`}
      aria-haspopup="dialog"
      onClick={() => open(section)}
    >
      <span class="block-head">
        <b>{sectionLabel(section.label)}</b>
        <span>{measures(section.first_measure, section.last_measure, "short")}</span>
      </span>
      {states.map(({ hand, state }) => (
        <span key={hand} class={`strip-of strip-of-${hand}`}>
          <Cloth hand={hand} state={state} />
          <span class="sewn-label">{text(`state.${state}`)}</span>
        </span>
      ))}
    </button>
  );
}

/** How far a section is sewn in one hand: due before all, then as far as its least secure patch. */
export function sectionState(section: QuiltSection, hand: Hands): PatchState {
  const states = section.patches.map((patch) => patch[hand]);
  if (states.includes("due")) return "due";
  if (states.length && states.every((state) => state === "secure")) return "secure";
  return states.every((state) => state === "new") ? "new" : "in work";
}

/** The seam from a section to the next: the one that reaches over the section's last measure. */
export function seamAfter(quilt: Quilt, section: QuiltSection): QuiltPatch | undefined {
  return quilt.seams.find(
    (seam) =>
      seam.kind === "seam" &&
      seam.first_measure <= section.last_measure &&
      seam.last_measure > section.last_measure,
  );
}

/** Seams inside a section, where it is cut into several patches. */
export function seamsInside(quilt: Quilt, section: QuiltSection): QuiltPatch[] {
  return quilt.seams.filter(
    (seam) =>
      seam.kind === "seam" &&
      seam.first_measure >= section.first_measure &&
      seam.last_measure <= section.last_measure,
  );
}

function Stitches({ seam }: { seam: QuiltPatch | undefined }) {
  return <span class={`stitches stitches-${(seam?.both ?? "new").replace(" ", "-")}`} aria-hidden="true" />;
}
