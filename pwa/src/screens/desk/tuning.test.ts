import { expect, it } from "vitest";
import type { Memory } from "../../midi/keyboards";
import { Tuning } from "./tuning";

function memory(): Memory {
  const kept = new Map<string, string>();
  return { getItem: (key) => kept.get(key) ?? null, setItem: (key, value) => void kept.set(key, value) };
}

function tuning(keyboard: string, kept: Memory = memory()): Tuning {
  const found = new Tuning(kept);
  found.useFor(keyboard);
  return found;
}

it("a yes is kept for that keyboard and for no other", () => {
  const kept = memory();
  const first = tuning("stage", kept);
  first.heard(2);
  expect(first.asked.value).toBe(2);
  first.answer(true);
  expect([first.asked.value, first.by.value]).toEqual([0, 2]);
  expect(tuning("stage", kept).by.value).toBe(2);
  expect(tuning("upright", kept).by.value).toBe(0);
});

it("a no is not asked again, and another interval is", () => {
  const found = tuning("console");
  found.heard(-1);
  found.answer(false);
  found.heard(-1);
  expect([found.asked.value, found.by.value]).toEqual([0, 0]);
  found.heard(5);
  expect(found.asked.value).toBe(5);
});

it("what is known is not asked about", () => {
  const found = tuning("spinet");
  found.keep(3);
  expect(found.heard(3)).toBe(false);
  expect(found.asked.value).toBe(0);
});

it("a piano that was set back is believed without a question", () => {
  const kept = memory();
  const found = tuning("grand", kept);
  found.keep(2);
  expect(found.heard(0)).toBe(true);
  expect([found.asked.value, found.by.value]).toEqual([0, 0]);
  expect(tuning("grand", kept).by.value).toBe(0);
});
