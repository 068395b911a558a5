/** The whole piece as patches: what is secure, what is in work, what is due again, and what is not yet joined. */
import { useState } from "preact/hooks";
import { paths } from "../../api/paths";
import type { Quilt, QuiltSection } from "../../api/types";
import { Asking } from "../../design/asking";
import { ChoosePiece } from "../../design/choose-piece";
import { useKept } from "../../offline/kept";
import { address, type Params } from "../../router/router";
import { person } from "../../session/session";
import { text } from "../../strings/catalogue";
import { keyName, measures, sectionLabel } from "../../strings/phrases";
import { ClothKey } from "./ClothKey";
import { Patchwork } from "./Patchwork";
import { SectionDialog } from "./SectionDialog";
import { Stretches } from "./Stretches";
import "./quilt.css";

export default function QuiltScreen({ params }: { params: Params }) {
  return params.piece ? (
    <OneQuilt piece={Number(params.piece)} />
  ) : (
    <ChoosePiece title={text("quilt.title")} to={(piece) => address("/quilt/:piece", { piece })} />
  );
}

/** A teacher looks at a student's quilt: the student stands in the address's query. */
function studentAsked(): number | undefined {
  const given = new URLSearchParams(location.search).get("student");
  return given === null ? undefined : Number(given);
}

function OneQuilt({ piece }: { piece: number }) {
  const student = studentAsked();
  const asked = useKept<Quilt>(paths.quilt(piece, student));
  const [opened, setOpened] = useState<QuiltSection | null>(null);
  return (
    <div class="stack quilt">
      <Asking of={asked}>
        {(quilt) => (
          <>
            <header class="stack">
              <h1>{quilt.piece.title}</h1>
              <p>{quilt.due.length ? text("quilt.due", { n: quilt.due.length }) : text("quilt.due.none")}</p>
            </header>
            <Patchwork quilt={quilt} open={setOpened} />
            <p class="quiet">{text("quilt.how")}</p>
            <ClothKey />
            <Stretches quilt={quilt} />
            {opened && (
              <SectionDialog quilt={quilt} section={opened} student={student} close={() => setOpened(null)} />
            )}
            {person.value?.role === "student" && (
              <p>
                <a class="button" href={address("/puzzle/:piece", { piece })}>
                  {text("puzzle.all")}
                </a>
              </p>
            )}
          </>
        )}
      </Asking>
    </div>
  );
}

/** How a section is named where it stands alone. */
export function sectionTitle(section: QuiltSection): string {
  return text("quilt.section", {
    label: sectionLabel(section.label),
    measures: measures(section.first_measure, section.last_measure),
    key: keyName(section.key),
  });
}
