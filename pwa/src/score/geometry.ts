/** Where things are in engraved notation. All measures are in the drawing's own units. */

const SVG = "http://www.w3.org/2000/svg";

export type Box = { left: number; right: number; top: number; bottom: number };

/** An SVG element with its attributes. */
export function element(name: string, attributes: Record<string, string | number>): SVGElement {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  return made;
}

/** The group in whose coordinates notes are drawn. */
export function inkOf(drawing: SVGSVGElement): SVGGraphicsElement {
  return drawing.querySelector<SVGGraphicsElement>(".page-margin") ?? drawing;
}

/** The notes with these ids that stand in the drawing, in the order of the ids. */
export function notesIn(place: ParentNode, ids: readonly string[]): SVGGraphicsElement[] {
  return ids.flatMap((id) => place.querySelector<SVGGraphicsElement>(`[id="${CSS.escape(id)}"]`) ?? []);
}

/** Noteheads give the place of a note; its stem would make everything as tall as the staff. */
export function headsOf(note: SVGGraphicsElement): SVGGraphicsElement[] {
  const heads = [...note.querySelectorAll<SVGGraphicsElement>(".notehead")];
  return heads.length ? heads : [note];
}

/** The smallest box round all of them. */
export function boxOf(elements: readonly SVGGraphicsElement[]): Box {
  const boxes = elements.map((one) => one.getBBox());
  return {
    left: Math.min(...boxes.map((box) => box.x)),
    right: Math.max(...boxes.map((box) => box.x + box.width)),
    top: Math.min(...boxes.map((box) => box.y)),
    bottom: Math.max(...boxes.map((box) => box.y + box.height)),
  };
}
