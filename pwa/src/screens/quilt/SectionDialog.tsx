/** One section opened: its patches and seams with their states, the way to the desk, and how it shall sound. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import type { Hands, Quilt, QuiltPatch, QuiltSection } from "../../api/types";
import { Cloth } from "../../design/cloth";
import { HandsMark } from "../../design/hands";
import { address } from "../../router/router";
import { dayText, text } from "../../strings/catalogue";
import { keyName, measures, sectionLabel } from "../../strings/phrases";
import { sectionTitle } from "./index";
import { seamAfter, seamsInside } from "./Patchwork";
import { SoundDecision } from "./SoundDecision";

const STRIPS: readonly Hands[] = ["right", "both", "left"];

type Props = { quilt: Quilt; section: QuiltSection; student: number | undefined; close: () => void };

export function SectionDialog({ quilt, section, student, close }: Props) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  const next = quilt.sections[quilt.sections.indexOf(section) + 1];
  const seam = seamAfter(quilt, section);
  return (
    <dialog class="section-dialog" ref={dialog} onClose={close} aria-label={sectionTitle(section)}>
      <div class="stack">
        <header class="section-head">
          <h2>{text("quilt.section.name", { label: sectionLabel(section.label) })}</h2>
          <form method="dialog">
            <button type="submit" class="button">
              {text("close")}
            </button>
          </form>
          <p class="quiet">
            {measures(section.first_measure, section.last_measure)}, {keyName(section.key)}
          </p>
        </header>
        {section.patches.map((patch) => (
          <PatchRow key={patch.id} piece={quilt.piece.id} patch={patch} />
        ))}
        {seamsInside(quilt, section).map((inside) => (
          <SeamRow key={inside.id} piece={quilt.piece.id} seam={inside} title={text("quilt.seam.inside")} />
        ))}
        {seam && next && (
          <SeamRow
            piece={quilt.piece.id}
            seam={seam}
            title={text("quilt.seam", { label: sectionLabel(next.label) })}
          />
        )}
        <SoundDecision piece={quilt.piece.id} section={section.label} student={student} />
      </div>
    </dialog>
  );
}

function PatchRow({ piece, patch }: { piece: number; patch: QuiltPatch }) {
  return (
    <Row piece={piece} patch={patch} title={measures(patch.first_measure, patch.last_measure)}>
      <ul class="plain-list strips">
        {STRIPS.map((hand) => (
          <li key={hand}>
            <span class="swatch">
              <Cloth hand={hand} state={patch[hand]} />
            </span>
            <HandsMark hands={hand} />
            <span>{text(`state.${patch[hand]}`)}</span>
          </li>
        ))}
      </ul>
    </Row>
  );
}

function SeamRow({ piece, seam, title }: { piece: number; seam: QuiltPatch; title: string }) {
  return (
    <Row piece={piece} patch={seam} title={title}>
      <p>
        {measures(seam.first_measure, seam.last_measure)}: {text(`state.${seam.both}`)}
      </p>
    </Row>
  );
}

function Row(props: { piece: number; patch: QuiltPatch; title: string; children: ComponentChildren }) {
  const { piece, patch, title } = props;
  return (
    <section class="patch-row seam-above">
      <div class="stack">
        <h3>{title}</h3>
        {props.children}
        <p class="quiet">
          {text("quilt.attempts", { n: patch.attempts })}
          {patch.due && `, ${text("quilt.until", { day: dayText(patch.due) })}`}
        </p>
      </div>
      <a
        class="button button-main"
        href={address("/desk/:piece/:patch", { piece, patch: patch.id })}
        aria-label={text("quilt.practise.what", { measures: title })}
      >
        {text("quilt.practise")}
      </a>
    </section>
  );
}
