/**
 * Text in engraved notation that uses the private code points of the SMuFL standard (notes of a metronome mark,
 * letters of a dynamic). The page loads no music font, so they are set as ordinary characters.
 */

const LETTERS: ReadonlyMap<number, string> = new Map([
  [0xe520, "p"],
  [0xe521, "m"],
  [0xe522, "f"],
  [0xe523, "r"],
  [0xe524, "s"],
  [0xe525, "z"],
  [0xe526, "n"],
  [0xe52c, "mp"],
  [0xe52d, "mf"],
  [0xe52b, "pp"],
  [0xe52f, "ff"],
  [0xeca3, "\u{1d15e}"],
  [0xeca5, "♩"],
  [0xeca7, "♪"],
  [0xecb7, "."],
]);

/** Replace SMuFL code points in every text of `drawing`. */
export function plainGlyphs(drawing: SVGSVGElement): SVGSVGElement {
  for (const text of drawing.querySelectorAll("tspan")) {
    if (text.childElementCount === 0 && text.textContent) text.textContent = replaced(text.textContent);
  }
  return drawing;
}

export function replaced(text: string): string {
  return [...text].map((character) => LETTERS.get(character.codePointAt(0) ?? 0) ?? character).join("");
}
