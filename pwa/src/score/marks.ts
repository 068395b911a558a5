/**
 * Marks at notes, told apart by their shape: a ring (chosen), a dotted ring (shown by a hint), a double ring (part
 * of the answer), a cross (not part of it), a frame (a finding).
 */
import { boxOf, element, headsOf, inkOf, notesIn } from "./geometry";

export type Mark = "chosen" | "shown" | "right-answer" | "wrong-answer" | "spot";
export type Marks = ReadonlyMap<string, Mark>;

/** Replace the marks in `holder`. */
export function drawMarks(holder: HTMLElement, marks: Marks): void {
  for (const old of holder.querySelectorAll(".mark-shapes")) old.remove();
  for (const drawing of holder.querySelectorAll<SVGSVGElement>(":scope > svg")) {
    const layer = element("g", { class: "mark-shapes" });
    for (const [id, mark] of marks) layer.append(...notesIn(drawing, [id]).map((note) => shape(note, mark)));
    inkOf(drawing).append(layer);
  }
}

/** Half the width of a mark, in the drawing's units (a staff space is 180). */
const REACH = 210;

function shape(note: SVGGraphicsElement, mark: Mark): SVGElement {
  const box = boxOf(headsOf(note));
  const x = (box.left + box.right) / 2;
  const y = (box.top + box.bottom) / 2;
  return element("path", { class: `mark mark-${mark}`, d: OUTLINES[mark](x, y) });
}

const OUTLINES: Record<Mark, (x: number, y: number) => string> = {
  chosen: (x, y) => ring(x, y, REACH),
  shown: (x, y) => ring(x, y, REACH * 1.15),
  "right-answer": (x, y) => ring(x, y, REACH * 0.95) + ring(x, y, REACH * 1.35),
  "wrong-answer": (x, y) => {
    const [left, top, size] = [x - REACH, y - REACH, 2 * REACH];
    return `M${left} ${top}l${size} ${size}M${left} ${top + size}l${size} ${-size}`;
  },
  spot: (x, y) => `M${x - REACH} ${y - REACH}h${2 * REACH}v${2 * REACH}h${-2 * REACH}z`,
};

function ring(x: number, y: number, radius: number): string {
  return `M${x - radius} ${y}a${radius} ${radius} 0 1 0 ${2 * radius} 0a${radius} ${radius} 0 1 0 ${-2 * radius} 0z`;
}
