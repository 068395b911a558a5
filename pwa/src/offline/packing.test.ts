import { expect, it } from "vitest";
import type { Puzzle, Today, TodayItem } from "../api/types";
import { deskSize } from "../score/ScoreView";
import { packingList, puzzlePaths } from "./packing";

const SIZE = deskSize();

const item: TodayItem = {
  kind: "new",
  piece_id: 3,
  piece_title: "A Piece",
  section: "A1",
  patch_id: "p1+p2",
  step_id: "s2",
  puzzle_id: null,
  hands: "right",
  first_measure: 1,
  last_measure: 2,
  title: "Right hand alone",
  reason: "It is where the piece begins.",
  minutes: 5,
  state: "new",
  tempo: 60,
};

const plan = (items: TodayItem[]): Today => ({
  student_id: 1,
  date: "2026-03-03",
  minutes: 20,
  minutes_done: 0,
  next_lesson: null,
  note_from_teacher: "",
  rest_day: false,
  sentence: "",
  items,
  care: [],
});

const puzzle = (id: string, first_measure: number, last_measure: number): Puzzle => ({
  id,
  section: null,
  level: 1,
  kind: "count-statements",
  question: "How many?",
  choices: [],
  answer: 2,
  groups: [],
  hint: [],
  explanation: "Two.",
  first_measure,
  last_measure,
  side_by_side: [],
  answered: null,
});

it("a drill needs its ladder and its measures, in every hand that the ladder goes on with", () => {
  expect(packingList(plan([item]), 340)).toEqual(
    expect.arrayContaining([
      "/api/pieces/3/drills/p1%2Bp2",
      `/api/pieces/3/engraving?first=1&hands=right&last=2&size=${SIZE}&student=1&width=340`,
      `/api/pieces/3/engraving?first=1&hands=left&last=2&size=${SIZE}&student=1&width=340`,
      `/api/pieces/3/engraving?first=1&hands=both&last=2&size=${SIZE}&student=1&width=340`,
      "/api/pieces/3/analysis",
      "/api/pieces/3/puzzles",
      "/api/pieces/3/quilt",
    ]),
  );
});

it("the puzzle of the day and those in the day's measures need their notation, in both hands", () => {
  const today = plan([item, { ...item, kind: "puzzle", puzzle_id: "far" }]);
  const puzzles = [puzzle("near", 2, 2), puzzle("far", 9, 11), puzzle("other", 14, 15)];
  expect(puzzlePaths(today, 3, puzzles, 340)).toEqual([
    "/api/pieces/3/engraving?first=2&hands=both&last=2&size=100&width=340",
    "/api/pieces/3/engraving?first=9&hands=both&last=11&size=100&width=340",
  ]);
});

it("stretches that are compared are engraved each for itself", () => {
  const compared: Puzzle = {
    ...puzzle("compared", 1, 11),
    side_by_side: [
      [1, 2],
      [10, 11],
    ],
  };
  const today = plan([{ ...item, kind: "puzzle", puzzle_id: "compared" }]);
  expect(
    puzzlePaths(today, 3, [compared], 340).map((path) => path.replace(/.*first=(\d+).*last=(\d+).*/, "$1-$2")),
  ).toEqual(["1-2", "10-11"]);
});

it("nothing is asked for twice", () => {
  const today = plan([item, { ...item, kind: "due" }]);
  const wanted = [
    ...packingList(today, 340),
    ...puzzlePaths(today, 3, [puzzle("a", 1, 2), puzzle("b", 1, 2)], 340),
  ];
  expect(new Set(wanted).size).toBe(wanted.length);
});

it("a day without practice still knows the pieces", () => {
  expect(packingList(plan([]), 340)).toEqual(["/api/pieces"]);
});
