/** A picture that the server drew (SVG), with its text equivalent below it for everyone. */
import { useLayoutEffect, useRef } from "preact/hooks";
import { safeSvg } from "../design/svg";

export function Drawing({ svg, label }: { svg: string; label: string }) {
  const holder = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    const drawing = safeSvg(svg);
    if (drawing) holder.current?.replaceChildren(drawing);
  }, [svg]);
  return (
    <figure class="drawing">
      <div ref={holder} />
      <figcaption class="quiet">{label}</figcaption>
    </figure>
  );
}
