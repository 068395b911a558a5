/** What has to be on the device so that today's practice works with no network. */
import { type EngravingRequest, paths } from "../api/paths";
import type { Today, TodayItem } from "../api/types";
import { engravingWidth } from "../score/ScoreView";
import { pack } from "./kept";

/** Fetch everything that today's items will ask for, in the order in which it will be wanted. */
export async function packToday(plan: Today): Promise<void> {
  await pack(packingList(plan, roomsOf(globalThis)));
}

/** Engravings are asked for by width: upright and lying across, the screen has two. */
function roomsOf(screenSize: { innerWidth: number; innerHeight: number }): readonly number[] {
  return [screenSize.innerWidth, screenSize.innerHeight].map((room) => engravingWidth(room - SIDES_PX));
}

/** What a screen's margins take from its width. */
const SIDES_PX = 32;

/** The addresses, each once. `widths` are those at which notation may be shown. */
export function packingList(plan: Today, widths: readonly number[]): string[] {
  const pieces = [...new Set(plan.items.map((item) => item.piece_id))];
  const wanted = [
    ...plan.items.flatMap((item) => itemPaths(item, widths)),
    ...pieces.flatMap((piece) => [paths.analysis(piece), paths.quilt(piece), paths.decisions(piece)]),
    paths.pieces,
  ];
  return [...new Set(wanted)];
}

function itemPaths(item: TodayItem, widths: readonly number[]): string[] {
  const puzzle = item.kind === "puzzle";
  const asked: EngravingRequest = {
    first: item.first_measure,
    last: item.last_measure,
    hands: puzzle ? "both" : item.hands,
    size: 100,
  };
  const engravings = widths.map((width) => paths.engraving(item.piece_id, { ...asked, width }));
  return [puzzle ? paths.puzzles(item.piece_id) : paths.drill(item.piece_id, item.patch_id), ...engravings];
}
