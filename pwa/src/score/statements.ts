/**
 * Statements drawn behind the notes: a band of strokes that rise (upright) or fall (inverted); a shortened one is
 * open at the end where it lacks something, an extended one goes on as a thin line. Nothing rests on colour.
 */
import type { Statement } from "../api/types";

const SVG = "http://www.w3.org/2000/svg";
type Box = { left: number; right: number; top: number; bottom: number };

/** Replace the bands in `holder` by those of `statements`; a statement over two systems gets a band on each. */
export function drawStatements(holder: HTMLElement, statements: readonly Statement[]): void {
  for (const old of holder.querySelectorAll(".statement-bands")) old.remove();
  for (const drawing of holder.querySelectorAll("svg.notation-page, :scope > svg")) {
    const layer = document.createElementNS(SVG, "g");
    layer.setAttribute("class", "statement-bands");
    for (const statement of statements) layer.append(...bands(drawing as SVGSVGElement, statement));
    innermost(drawing as SVGSVGElement).prepend(layer);
  }
}

/** The element in whose coordinates the notes are drawn. */
function innermost(drawing: SVGSVGElement): SVGGraphicsElement {
  return drawing.querySelector<SVGGraphicsElement>(".page-margin") ?? drawing;
}

function bands(drawing: SVGSVGElement, statement: Statement): SVGElement[] {
  const notes = statement.notes.flatMap((id) => {
    const note = drawing.querySelector<SVGGraphicsElement>(`[id="${CSS.escape(id)}"]`);
    return note ? [note] : [];
  });
  const systems = [...new Set(notes.map((note) => note.closest(".system")))];
  return systems.map((system) => {
    const together = notes.filter((note) => note.closest(".system") === system);
    return band(around(together), statement);
  });
}

/** Heads give the place; stems would make every band as tall as the staff. */
function around(notes: readonly SVGGraphicsElement[]): Box {
  const boxes = notes.map((note) => (note.querySelector<SVGGraphicsElement>(".notehead") ?? note).getBBox());
  return {
    left: Math.min(...boxes.map((box) => box.x)),
    right: Math.max(...boxes.map((box) => box.x + box.width)),
    top: Math.min(...boxes.map((box) => box.y)),
    bottom: Math.max(...boxes.map((box) => box.y + box.height)),
  };
}

const MARGIN = 130;

function band(box: Box, statement: Statement): SVGElement {
  const group = document.createElementNS(SVG, "g");
  const form = statement.form === "inverted" ? "inverted" : "upright";
  group.setAttribute("class", `statement is-${form} is-${statement.extent}`);
  group.setAttribute("data-statement", statement.id);
  const rect = document.createElementNS(SVG, "rect");
  const place = { x: box.left - MARGIN, y: box.top - MARGIN };
  const size = { width: box.right - box.left + 2 * MARGIN, height: box.bottom - box.top + 2 * MARGIN };
  for (const [name, value] of Object.entries({ ...place, ...size })) rect.setAttribute(name, String(value));
  rect.setAttribute("fill", form === "inverted" ? "url(#strokes-fall)" : "url(#strokes-rise)");
  group.append(rect);
  return group;
}
