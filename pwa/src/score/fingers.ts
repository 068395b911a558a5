/**
 * Fingers beside the notes, as printed music has them: over the staff for the right hand, under it for the left,
 * those of a chord on top of each other. The teacher's stand upright, proposed ones slanted.
 */
import { type Box, boxOf, element, inkOf, notesIn } from "./geometry";

export type Fingered = { hand: "right" | "left"; finger: number; own: boolean };
export type Fingers = ReadonlyMap<string, Fingered>;

/** Distance from the note or the staff, and from finger to finger, in the drawing's units (a staff space is 180). */
const GAP = 110;
const LINE = 290;
/** The height of a figure, which is set by its baseline. */
const HEIGHT = 220;

/** Replace the fingers in `holder`. */
export function drawFingers(holder: HTMLElement, fingers: Fingers): void {
  for (const old of holder.querySelectorAll(".fingers")) old.remove();
  if (!fingers.size) return;
  for (const drawing of holder.querySelectorAll<SVGSVGElement>(":scope > svg")) {
    const layer = element("g", { class: "fingers" });
    const words = [...drawing.querySelectorAll<SVGGraphicsElement>(".tempo, .dir")].map((word) => boxOf([word]));
    for (const column of columnsIn(drawing, fingers)) layer.append(...figures(column, words));
    inkOf(drawing).append(layer);
  }
}

type Written = Fingered & { note: SVGGraphicsElement };

/** Notes of one hand that are struck together: those of a chord. */
function columnsIn(drawing: SVGSVGElement, fingers: Fingers): Iterable<Written[]> {
  const columns = new Map<Element, Written[]>();
  for (const [id, fingered] of fingers) {
    for (const note of notesIn(drawing, [id])) {
      const place = note.closest(".chord") ?? note;
      columns.set(place, [...(columns.get(place) ?? []), { ...fingered, note }]);
    }
  }
  return columns.values();
}

/** The figures of one column, from the staff outwards. */
function figures(column: readonly Written[], words: readonly Box[]): SVGElement[] {
  const notes = column.map(({ note }) => note);
  const staff = [...(notes[0]?.closest(".staff")?.querySelectorAll<SVGGraphicsElement>(":scope > path") ?? [])];
  const { left, right } = boxOf(
    notes.flatMap((note) => note.querySelector<SVGGraphicsElement>(".notehead") ?? note),
  );
  const { top, bottom } = boxOf([...notes, ...staff]);
  const x = (left + right) / 2;
  const upward = column[0]?.hand === "right";
  const height = ({ note }: Written) => note.getBBox().y;
  // The lowest note of the right hand, and the highest of the left, stand next to the staff.
  const outwards = column.toSorted((one, other) =>
    upward ? height(other) - height(one) : height(one) - height(other),
  );
  return outwards.map((written, index) => {
    if (!upward) return figure(written, x, bottom + GAP + HEIGHT + index * LINE);
    return figure(written, x, above(words, x, top - GAP - index * LINE));
  });
}

/** The baseline `y`, or one above a word that stands there already (a tempo mark, a direction). */
function above(words: readonly Box[], x: number, y: number): number {
  const inTheWay = words.find(
    (word) => word.left < x + GAP && word.right > x - GAP && word.top < y && word.bottom > y - HEIGHT,
  );
  return inTheWay ? inTheWay.top - GAP : y;
}

function figure({ note, finger, own }: Written, x: number, y: number): SVGElement {
  const made = element("text", { x, y, class: own ? "finger is-own" : "finger", "font-size": "300" });
  made.setAttribute("data-note", note.id);
  made.textContent = String(finger);
  return made;
}
