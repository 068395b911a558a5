import { expect, test } from "vitest";
import { ownWith } from "./fingering";

const found = { fingers: { a: 1, b: 2, c: 3 }, written: ["b"] };

test("a finger that the teacher writes joins those written before; proposals are not sent", () => {
  expect(ownWith(found, "c", 4)).toEqual({ b: 2, c: 4 });
});

test("another finger for the same note takes the place of the first", () => {
  expect(ownWith(found, "b", 5)).toEqual({ b: 5 });
});

test("a note left to the proposal is written no more", () => {
  expect(ownWith(found, "b", null)).toEqual({});
});
