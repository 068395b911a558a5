import { describe, expect, it } from "vitest";
import { answerKind, isRight } from "./checking";

describe("tapped notes", () => {
  const entries = { answer: ["n1", "n9"], groups: [["n1", "n2"], ["n9"]] };

  it("are right with one tap in each group", () => {
    expect(isRight(entries, ["n2", "n9"])).toBe(true);
    expect(isRight(entries, ["n1", "n2", "n9"])).toBe(true);
  });

  it("are wrong where a group has none, or a tap lies outside", () => {
    expect(isRight(entries, ["n1"])).toBe(false);
    expect(isRight(entries, ["n1", "n9", "n5"])).toBe(false);
    expect(isRight(entries, [])).toBe(false);
  });

  it("are right in any order, and tapped twice is tapped once", () => {
    expect(isRight(entries, ["n9", "n1", "n9"])).toBe(true);
  });

  it("must be exactly the answer where there are no groups", () => {
    const highest = { answer: ["n7"], groups: [] };
    expect(isRight(highest, ["n7"])).toBe(true);
    expect(isRight(highest, ["n7", "n8"])).toBe(false);
  });
});

it("a number or a choice is right when it is the one", () => {
  expect(isRight({ answer: 4, groups: [] }, 4)).toBe(true);
  expect(isRight({ answer: 0, groups: [] }, 1)).toBe(false);
  expect(isRight({ answer: 4, groups: [] }, ["n4"])).toBe(false);
});

it("the puzzle says how it is answered", () => {
  expect(answerKind({ answer: ["n1"], choices: [] })).toBe("notes");
  expect(answerKind({ answer: 1, choices: ["rises", "falls"] })).toBe("choice");
  expect(answerKind({ answer: 3, choices: [] })).toBe("number");
});
