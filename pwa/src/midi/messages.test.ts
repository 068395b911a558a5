import { expect, it } from "vitest";
import { noteOff, noteOn, read } from "./messages";

// MIDI 1.0 Detailed Specification (MIDI Association), channel voice messages.
it.each([
  ["note-on", [0x90, 60, 64], { kind: "down", midi: 60, velocity: 64 }],
  ["note-on on channel 16", [0x9f, 60, 1], { kind: "down", midi: 60, velocity: 1 }],
  ["note-on with velocity 0 is a note-off", [0x90, 60, 0], { kind: "up", midi: 60 }],
  ["note-off", [0x80, 60, 64], { kind: "up", midi: 60 }],
  ["sustain pedal down", [0xb0, 64, 127], { kind: "pedal", down: true }],
  ["sustain pedal up", [0xb0, 64, 63], { kind: "pedal", down: false }],
  ["another controller", [0xb0, 7, 100], null],
  ["timing clock", [0xf8, 0, 0], null],
  ["active sensing", [0xfe, 0, 0], null],
])("reads %s", (_, [status = 0, data1 = 0, data2 = 0], expected) => {
  expect(read(status, data1, data2)).toEqual(expected);
});

it("reads back what it writes", () => {
  expect(read(...noteOn(72, 90))).toEqual({ kind: "down", midi: 72, velocity: 90 });
  expect(read(...noteOff(72))).toEqual({ kind: "up", midi: 72 });
});
