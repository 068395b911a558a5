/**
 * Statements drawn behind the notes: a band of strokes that rise (upright) or fall (inverted), with its number. A
 * complete one is closed at both ends, a shortened one open where something is missing, an extended one goes on
 * as a line. Nothing rests on colour, so that a monochrome print tells them apart.
 */
import type { StatementFound } from "../api/types";
import { type Box, boxOf, element, headsOf, inkOf, notesIn } from "./geometry";

/** Replace the bands in `holder` by those of `statements`, numbered from 1; each system has its own part of a band. */
export function drawStatements(holder: HTMLElement, statements: readonly StatementFound[]): void {
  for (const old of holder.querySelectorAll(".statement-bands")) old.remove();
  for (const drawing of holder.querySelectorAll<SVGSVGElement>(":scope > svg")) {
    const layer = element("g", { class: "statement-bands" });
    statements.forEach((statement, index) => {
      layer.append(...bands(drawing, statement, index + 1));
    });
    inkOf(drawing).prepend(layer);
  }
}

type Ends = { left: boolean; right: boolean };

function bands(drawing: SVGSVGElement, statement: StatementFound, number: number): SVGElement[] {
  const notes = notesIn(drawing, statement.notes);
  const systems = [...new Set(notes.map((note) => note.closest(".system")))];
  const startsHere = notes[0]?.id === statement.notes[0];
  const endsHere = notes.at(-1)?.id === statement.notes.at(-1);
  return systems.map((system, index) => {
    const box = boxOf(notes.filter((note) => note.closest(".system") === system).flatMap(headsOf));
    const first = index === 0 && startsHere;
    const last = index === systems.length - 1 && endsHere;
    const ends = { left: first && statement.missing !== "head", right: last && statement.missing !== "tail" };
    return band(box, statement, ends, first ? number : null, last);
  });
}

/** How far a band reaches beyond the noteheads, in the drawing's units (a staff space is 180). */
const MARGIN = 120;
const TAIL = 320;

function band(box: Box, statement: StatementFound, ends: Ends, number: number | null, last: boolean): SVGElement {
  const left = box.left - MARGIN;
  const right = box.right + MARGIN;
  const top = box.top - MARGIN;
  const bottom = box.bottom + MARGIN;
  const form = statement.form === "inverted" ? "inverted" : "upright";
  const group = element("g", {
    class: `statement is-${form} is-${statement.extent}`,
    "data-statement": statement.id,
  });
  const strokes = form === "inverted" ? "url(#score-strokes-fall)" : "url(#score-strokes-rise)";
  group.append(
    element("rect", {
      x: left,
      y: top,
      width: right - left,
      height: bottom - top,
      fill: strokes,
      class: "strokes",
    }),
    element("path", { class: "edge", d: outline(left, right, top, bottom, ends) }),
  );
  if (last && statement.extent === "extended") {
    group.append(
      element("path", { class: "edge", d: `M${right} ${(top + bottom) / 2}h${TAIL}l-90 -70m90 70l-90 70` }),
    );
  }
  if (number !== null) group.append(label(left, top, number));
  return group;
}

/** Top and bottom always; the ends only where the statement has them. */
function outline(left: number, right: number, top: number, bottom: number, ends: Ends): string {
  const lines = [`M${left} ${top}H${right}`, `M${left} ${bottom}H${right}`];
  if (ends.left) lines.push(`M${left} ${top}V${bottom}`);
  if (ends.right) lines.push(`M${right} ${top}V${bottom}`);
  return lines.join("");
}

function label(x: number, y: number, number: number): SVGElement {
  const text = element("text", { x: x + 20, y: y - 50, "font-size": "300", class: "statement-number" });
  text.textContent = String(number);
  return text;
}
