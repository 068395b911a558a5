/**
 * Real engraved notation: the wanted measures and hands, as wide as there is room, notes that can be tapped.
 *
 * Ids of notes and measures in the drawing are those of the analysis. What changes while somebody plays is marked
 * by `LiveMarks` directly, not through here.
 */
import { useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { paths } from "../api/paths";
import type { Engraving, Hands, StatementFound } from "../api/types";
import { Asking } from "../design/asking";
import { safeSvg } from "../design/svg";
import { useKept } from "../offline/kept";
import { drawFingers, type Fingers } from "./fingers";
import { plainGlyphs } from "./glyphs";
import { drawMarks, type Marks } from "./marks";
import { drawStatements } from "./statements";
import "./score.css";

export type { Mark, Marks } from "./marks";

export type ScoreProps = {
  piece: number;
  first?: number | undefined;
  last?: number | undefined;
  hands?: Hands | undefined;
  /** What a screen reader says in place of the picture. */
  label: string;
  marks?: Marks | undefined;
  statements?: readonly StatementFound[] | undefined;
  fingers?: Fingers | undefined;
  /** A tap on (or near) a note, with its id. */
  onNote?: ((id: string) => void) | undefined;
  /** The student whose decisions are written into the score. */
  student?: number | undefined;
  /** Size of the staves, 100 is usual. */
  size?: number | undefined;
};

/** Widths that are asked for, in CSS pixels: few, so that what was packed for offline use fits again. */
export const WIDTHS = [280, 340, 400, 480, 640, 780, 980] as const;

/** Size of the staves at the desk in percent of the usual: read from a music desk, not from a hand. */
export function deskSize(): number {
  const isTablet = Math.min(innerWidth, innerHeight) >= 600;
  return isTablet ? 160 : 130;
}

/** The widest engraving that fits into `room` pixels. */
export function engravingWidth(room: number): number {
  return WIDTHS.findLast((width) => width <= room) ?? WIDTHS[0];
}

export function ScoreView(props: ScoreProps) {
  const frame = useRef<HTMLDivElement>(null);
  const [width, setWidth] = useState<number | null>(null);
  useLayoutEffect(() => watchWidth(frame.current, setWidth), []);
  const asked = useKept<Engraving>(width === null ? null : engravingPath(props, width), engravingPath(props));
  const room = asked.data ? "" : `${expectedHeight(props, width ?? WIDTHS[0])}px`;
  return (
    <div class="score" ref={frame} style={{ minHeight: room }}>
      <Asking of={asked}>{(engraving) => <EngravedScore {...props} svgs={engraving.svgs} />}</Asking>
    </div>
  );
}

/** The address of the notation; without a width the beginning of every address that shows the same music. */
function engravingPath(props: ScoreProps, width?: number): string {
  const { piece, first, last, hands = "both", size = 100, student } = props;
  const music = { first, last, hands };
  return paths.engraving(piece, width === undefined ? music : { ...music, size, student, width });
}

/** About how high the notation will be, in CSS pixels, so that nothing jumps when it arrives. */
function expectedHeight({ first, last, hands }: ScoreProps, width: number): number {
  if (first === undefined || last === undefined) return 400;
  const systems = Math.ceil((last - first + 1) / Math.max(1, Math.round(width / 230)));
  return systems * (hands === "both" ? 165 : 95);
}

function watchWidth(element: HTMLElement | null, found: (width: number) => void): () => void {
  if (!element) return () => undefined;
  const watcher = new ResizeObserver(() => found(engravingWidth(element.clientWidth)));
  watcher.observe(element);
  return () => watcher.disconnect();
}

type EngravedProps = Pick<ScoreProps, "label" | "marks" | "statements" | "fingers" | "onNote"> & {
  svgs: readonly string[];
};

/** Notation that is already engraved, for pages that carry their own SVG. */
export function EngravedScore({ svgs, label, marks, statements, fingers, onNote }: EngravedProps) {
  const holder = useRef<HTMLDivElement>(null);
  // What was kept and what the server says are mostly the same: then what is marked on the drawing stays.
  const drawings = useMemo(() => svgs.flatMap((svg) => safeSvg(svg) ?? []).map(plainGlyphs), [svgs.join()]);
  useLayoutEffect(() => holder.current?.replaceChildren(...drawings), [drawings]);
  useLayoutEffect(() => {
    if (holder.current) drawStatements(holder.current, statements ?? []);
  }, [drawings, statements]);
  useLayoutEffect(() => {
    if (holder.current) drawMarks(holder.current, marks ?? new Map());
  }, [drawings, marks]);
  useLayoutEffect(() => {
    if (holder.current) drawFingers(holder.current, fingers ?? new Map());
  }, [drawings, fingers]);
  return (
    <>
      {/* biome-ignore lint/a11y/useKeyWithClickEvents: screens that ask for taps offer the notes as a list, too. */}
      <div
        class={onNote ? "notation can-tap" : "notation"}
        ref={holder}
        role="img"
        aria-label={label}
        onClick={onNote && ((event) => tap(event, holder.current, onNote))}
      />
    </>
  );
}

/** A finger is wider than a notehead: the nearest one within this many CSS pixels is meant. */
const REACH_PX = 26;

function tap(event: MouseEvent, holder: HTMLElement | null, onNote: (id: string) => void): void {
  let best: { id: string; distance: number } | null = null;
  for (const head of holder?.querySelectorAll("g.note .notehead") ?? []) {
    const box = head.getBoundingClientRect();
    const across = event.clientX - (box.left + box.right) / 2;
    const distance = Math.hypot(across, event.clientY - (box.top + box.bottom) / 2);
    const id = head.closest("g.note")?.id;
    if (id && distance <= REACH_PX && (!best || distance < best.distance)) best = { id, distance };
  }
  if (best) onNote(best.id);
}
