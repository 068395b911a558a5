import { beforeEach, describe, expect, it } from "vitest";
import { ALL, Keyboards, type Memory } from "./keyboards";
import type { RawEvent } from "./messages";

/** A MIDIAccess that delivers real MIDI bytes; only the cable is missing. */
class Rig {
  readonly inputs = new Map<string, MIDIInput>();
  readonly outputs = new Map<string, MIDIOutput>();
  readonly sent: number[][] = [];
  onstatechange: ((event: MIDIConnectionEvent) => void) | null = null;

  plug(id: string, name = id): void {
    this.inputs.set(id, this.port(id, name, "input") as unknown as MIDIInput);
    this.outputs.set(id, this.port(id, name, "output") as unknown as MIDIOutput);
    this.tell(this.inputs.get(id));
  }

  unplug(id: string): void {
    const input = this.inputs.get(id);
    Object.assign(input ?? {}, { state: "disconnected" });
    Object.assign(this.outputs.get(id) ?? {}, { state: "disconnected" });
    this.tell(input);
  }

  play(id: string, bytes: number[], timeStamp: number): void {
    const event = { data: Uint8Array.from(bytes), timeStamp } as unknown as MIDIMessageEvent;
    const input = this.inputs.get(id);
    input?.onmidimessage?.call(input, event);
  }

  private port(id: string, name: string, type: string) {
    return {
      id,
      name,
      type,
      state: "connected",
      onmidimessage: null,
      send: (bytes: number[]) => this.sent.push(bytes),
    };
  }

  private tell(port: MIDIInput | undefined): void {
    this.onstatechange?.({ port: port ?? null } as MIDIConnectionEvent);
  }
}

function memory(): Memory {
  const kept = new Map<string, string>();
  return { getItem: (key) => kept.get(key) ?? null, setItem: (key, value) => void kept.set(key, value) };
}

describe("a keyboard", () => {
  let rig: Rig;
  let heard: RawEvent[];
  let remembered: Memory;
  const open = (keyboards: Keyboards) => keyboards.open({ onEvent: (event) => heard.push(event) });
  const fresh = () => new Keyboards(async () => rig as unknown as MIDIAccess, remembered);

  beforeEach(() => {
    rig = new Rig();
    heard = [];
    remembered = memory();
  });

  it("is heard with the device's own time", async () => {
    rig.plug("a");
    expect(await open(fresh())).toBe("ready");
    rig.play("a", [0x90, 60, 80], 1234.5);
    rig.play("a", [0xfe], 1240);
    expect(heard).toEqual([[1234.5, 0x90, 60, 80]]);
  });

  it("may be plugged in later", async () => {
    expect(await open(fresh())).toBe("none");
    rig.plug("a");
    rig.play("a", [0x90, 60, 80], 1);
    expect(heard).toHaveLength(1);
  });

  it("that is unplugged while playing is told as lost, and heard again when it is back", async () => {
    rig.plug("a");
    const changes: boolean[] = [];
    await fresh().open({ onEvent: (event) => heard.push(event), onChange: (_, lost) => changes.push(lost) });
    rig.unplug("a");
    rig.plug("a");
    rig.play("a", [0x90, 62, 80], 2);
    expect(changes).toEqual([true, false]);
    expect(heard).toEqual([[2, 0x90, 62, 80]]);
  });

  it("that was chosen is the only one heard, and is remembered by name", async () => {
    rig.plug("1", "upright");
    rig.plug("2", "stage");
    const keyboards = fresh();
    await open(keyboards);
    expect(keyboards.chosen()).toBe(ALL);
    expect(keyboards.listenedTo()).toBe("upright + stage");
    keyboards.choose("2");
    rig.play("1", [0x90, 60, 80], 1);
    rig.play("2", [0x90, 61, 80], 2);
    expect(heard).toEqual([[2, 0x90, 61, 80]]);
    const again = fresh();
    await open(again);
    expect(again.chosen()).toBe("2");
    expect(again.listenedTo()).toBe("stage");
  });

  it("is played to by its own output", async () => {
    rig.plug("a");
    const keyboards = fresh();
    await open(keyboards);
    expect(keyboards.send([0x90, 60, 80])).toBe(true);
    expect(rig.sent).toEqual([[0x90, 60, 80]]);
  });
});

describe("without permission", () => {
  it.each([
    ["NotAllowedError", "refused"],
    ["SecurityError", "refused"],
    ["InvalidStateError", "unsupported"],
    ["NotSupportedError", "unsupported"],
  ])("%s reads as %s", async (name, expected) => {
    const keyboards = new Keyboards(() => Promise.reject(new DOMException("no", name)), memory());
    expect(await keyboards.open({})).toBe(expected);
  });

  it("a browser without Web MIDI says so", async () => {
    const keyboards = new Keyboards(undefined, memory());
    expect(await keyboards.open({})).toBe("unsupported");
  });
});
