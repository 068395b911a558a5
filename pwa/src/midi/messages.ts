/** The channel messages of the MIDI 1.0 standard that practice needs. */

/** Milliseconds on the page's clock, status, first and second data byte. */
export type RawEvent = [number, number, number, number];

export type KeyMessage =
  | { kind: "down"; midi: number; velocity: number }
  | { kind: "up"; midi: number }
  | { kind: "pedal"; down: boolean };

const NOTE_OFF = 0x80;
const NOTE_ON = 0x90;
const CONTROL_CHANGE = 0xb0;
const SUSTAIN = 64;

/** Reads one message; null for everything that is no key or pedal (clock, active sensing, other controllers). */
export function read(status: number, data1: number, data2: number): KeyMessage | null {
  switch (status & 0xf0) {
    case NOTE_ON:
      return data2 > 0 ? { kind: "down", midi: data1, velocity: data2 } : { kind: "up", midi: data1 };
    case NOTE_OFF:
      return { kind: "up", midi: data1 };
    case CONTROL_CHANGE:
      return data1 === SUSTAIN ? { kind: "pedal", down: data2 >= 64 } : null;
    default:
      return null;
  }
}

export function noteOn(midi: number, velocity: number): [number, number, number] {
  return [NOTE_ON, midi, velocity];
}

export function noteOff(midi: number): [number, number, number] {
  return [NOTE_OFF, midi, 0];
}
