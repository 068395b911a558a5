/** What has to be on the device so that today's practice works with no network. */
import { paths } from "../api/paths";
import type { Puzzle, Today, TodayItem } from "../api/types";
import { deskSize, engravingWidth } from "../score/ScoreView";
import { pack, recall } from "./kept";

/** Fetch what today's items will ask for, in the order in which it will be wanted. True: all of it is here. */
export async function packToday(plan: Today): Promise<boolean> {
  const width = engravingWidth(globalThis.innerWidth - SIDES_PX);
  if (!(await pack(packingList(plan, width)))) return false;
  for (const piece of piecesOf(plan)) {
    const puzzles = (await recall<Puzzle[]>(paths.puzzles(piece))) ?? [];
    if (!(await pack(puzzlePaths(plan, piece, puzzles, width)))) return false;
  }
  return true;
}

/** What a screen's margins take from its width. Notation that was packed at another width still serves. */
const SIDES_PX = 36;

function piecesOf(plan: Today): number[] {
  return [...new Set(plan.items.map((item) => item.piece_id))];
}

/** The addresses that the plan itself names, each once; notation is engraved for `width` CSS pixels. */
export function packingList(plan: Today, width: number): string[] {
  const ofPiece = (piece: number) => [
    paths.analysis(piece),
    paths.puzzles(piece),
    paths.quilt(piece),
    paths.decisions(piece),
  ];
  const drills = plan.items.filter((item) => item.kind !== "puzzle");
  const ofDrills = drills.flatMap((item) => drillPaths(item, plan.student_id, width));
  return [...new Set([...ofDrills, ...piecesOf(plan).flatMap(ofPiece), paths.pieces])];
}

/** A drill's score carries what the student decided for it. Its ladder goes on from one hand to the other. */
function drillPaths(item: TodayItem, student: number, width: number): string[] {
  const { piece_id, patch_id, first_measure: first, last_measure: last, hands } = item;
  const ladder = new Set([hands, "right", "left", "both"] as const);
  const engravings = [...ladder].map((each) =>
    paths.engraving(piece_id, { first, last, hands: each, size: deskSize(), student, width }),
  );
  return [paths.drill(piece_id, patch_id), ...engravings];
}

/** The notation of today's puzzle, and of every puzzle that lies in the measures of the day. */
export function puzzlePaths(plan: Today, piece: number, puzzles: readonly Puzzle[], width: number): string[] {
  const ofPiece = plan.items.filter((item) => item.piece_id === piece);
  const wanted = puzzles.filter((puzzle) =>
    ofPiece.some((item) => item.puzzle_id === puzzle.id || within(puzzle, item)),
  );
  const engraved = wanted.flatMap(({ side_by_side, first_measure, last_measure }) =>
    (side_by_side.length > 1 ? side_by_side : [[first_measure, last_measure] as const]).map(([first, last]) =>
      paths.engraving(piece, { first, last, hands: "both", size: 100, width }),
    ),
  );
  return [...new Set(engraved)];
}

type Measures = Pick<TodayItem, "first_measure" | "last_measure">;

function within(inner: Measures, outer: Measures): boolean {
  return inner.first_measure >= outer.first_measure && inner.last_measure <= outer.last_measure;
}
