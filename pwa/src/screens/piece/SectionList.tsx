/** The sections: the teacher moves where one begins and gives it another name. */
import type { Analysis } from "../../api/types";
import { Field, Form, type Typed } from "../../design/form";
import { text } from "../../strings/catalogue";
import { keyName, measures, sectionLabel } from "../../strings/phrases";
import { type Corrections, sectionFrom, sectionNamed } from "./corrections";

type Props = { analysis: Analysis; corrections: Corrections };

export function SectionList({ analysis, corrections }: Props) {
  if (!analysis.sections.length) return null;
  return (
    <details class="piece-more">
      <summary>
        {text("piece.sections")} ({analysis.sections.length})
      </summary>
      <ol class="plain-list stack">
        {analysis.sections.map((section, index) => (
          <li key={`${section.label} ${section.start.measure}`} class="cloth">
            <OneSection section={section} first={index === 0} corrections={corrections} />
          </li>
        ))}
      </ol>
    </details>
  );
}

type OneProps = { section: Analysis["sections"][number]; first: boolean; corrections: Corrections };

/** The first section begins where the piece does; every other may begin elsewhere. */
function OneSection({ section, first, corrections }: OneProps) {
  const begins = section.start.measure;
  const save = async (typed: Typed) => {
    const label = typed.one("label").trim();
    const from = first ? begins : Number(typed.one("from"));
    if (label && label !== section.label) await corrections.add(sectionNamed(begins, label));
    if (from !== begins) await corrections.add(sectionFrom(begins, from));
  };
  return (
    <Form send={save} label={text("save")} class="piece-section">
      <p>
        <b>{sectionLabel(section.label)}</b>, {measures(begins, section.end.measure)}, {keyName(section.key)}
      </p>
      <div class="fields">
        <Field name="label" label={text("piece.section.label")} value={section.label} required />
        {!first && (
          <Field name="from" label={text("piece.section.from")} type="number" value={begins} min={0} required />
        )}
      </div>
    </Form>
  );
}
