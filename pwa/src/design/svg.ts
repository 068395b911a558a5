/**
 * SVG from the server made fit for the page: no styles of its own (the page's policy allows none), no scripts, no
 * links, no titles that would pop up.
 */

const KEPT_OUT = "style, script, title, foreignObject, a, image, animate, set";

/** Parse one drawing into an element that can be put into the document; null where it is no SVG. */
export function safeSvg(svg: string): SVGSVGElement | null {
  const inert = new DOMParser().parseFromString(withoutStyles(svg), "image/svg+xml");
  const root = inert.documentElement;
  if (root.localName !== "svg") return null;
  for (const stray of root.querySelectorAll(KEPT_OUT)) stray.remove();
  for (const element of root.querySelectorAll("*")) dropHandlers(element);
  dropHandlers(root);
  const placed = document.importNode(root, true) as unknown as SVGSVGElement;
  placed.removeAttribute("width");
  placed.removeAttribute("height");
  placed.setAttribute("aria-hidden", "true");
  placed.setAttribute("focusable", "false");
  return placed;
}

/** Styles are cut from the text: a parser would already report them against the page's policy. */
function withoutStyles(svg: string): string {
  return svg.replace(/<style\b[\s\S]*?<\/style>/g, "").replace(/\sstyle="[^"]*"/g, "");
}

function dropHandlers(element: Element): void {
  for (const { name } of [...element.attributes]) if (/^on/i.test(name)) element.removeAttribute(name);
}
