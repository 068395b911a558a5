import { expect, it } from "vitest";
import type { Today, TodayItem } from "../api/types";
import { packingList } from "./packing";

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
  lesson_date: null,
  note_from_teacher: "",
  rest_day: false,
  sentence: "",
  items,
  care: [],
});

it("a drill needs its ladder and its measures, at both widths of the screen", () => {
  expect(packingList(plan([item]), [360, 780])).toEqual(
    expect.arrayContaining([
      "/api/pieces/3/drills/p1%2Bp2",
      "/api/pieces/3/engraving?first=1&hands=right&last=2&size=100&width=360",
      "/api/pieces/3/engraving?first=1&hands=right&last=2&size=100&width=780",
      "/api/pieces/3/analysis",
      "/api/pieces/3/quilt",
    ]),
  );
});

it("a puzzle needs both hands of its measures", () => {
  const wanted = packingList(plan([{ ...item, kind: "puzzle", puzzle_id: "z1" }]), [360]);
  expect(wanted).toContain("/api/pieces/3/puzzles");
  expect(wanted).toContain("/api/pieces/3/engraving?first=1&hands=both&last=2&size=100&width=360");
});

it("nothing is asked for twice", () => {
  const wanted = packingList(plan([item, { ...item, kind: "due" }]), [360, 360]);
  expect(new Set(wanted).size).toBe(wanted.length);
});

it("a day without practice still knows the pieces", () => {
  expect(packingList(plan([]), [360])).toEqual(["/api/pieces"]);
});
