/** The count table: kinds of section down, times across; what a teacher counts with a pencil. */
import type { CountCell } from "../api/types";
import { text } from "../strings/catalogue";
import { keyName, sectionLabel } from "../strings/phrases";
import "./analysis.css";

export function CountTable({ cells }: { cells: readonly CountCell[] }) {
  const kinds = [...new Set(cells.map((cell) => cell.kind))];
  const times = [...new Set(cells.map((cell) => cell.time))].toSorted((one, other) => one - other);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard.
    <section class="scroll-across" tabIndex={0} aria-label={text("piece.count")}>
      <table class="count-table">
        <thead>
          <tr>
            <th scope="col">{text("piece.count.kind")}</th>
            {times.map((time) => (
              <th key={time} scope="col">
                {text("piece.count.times", { n: time })}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {kinds.map((kind) => (
            <tr key={kind}>
              <th scope="row">{sectionLabel(kind)}</th>
              {times.map((time) => (
                <td key={time}>
                  <Cell cell={cells.find((one) => one.kind === kind && one.time === time)} />
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Cell({ cell }: { cell: CountCell | undefined }) {
  if (!cell) return <>{text("piece.count.empty")}</>;
  const facts = [
    ...(cell.upright ? [text("piece.count.upright", { n: cell.upright })] : []),
    ...(cell.inverted ? [text("piece.count.inverted", { n: cell.inverted })] : []),
    ...(cell.right ? [text("piece.count.right", { n: cell.right })] : []),
    ...(cell.left ? [text("piece.count.left", { n: cell.left })] : []),
    ...(cell.sequence ? [text(`piece.count.${cell.sequence}`)] : []),
    keyName(cell.key),
  ];
  return (
    <>
      <b>
        {sectionLabel(cell.section)}: {text("piece.count.statements", { n: cell.statements })}
      </b>
      <br />
      {facts.join(", ")}
    </>
  );
}
