/** Which keyboards are there, and what is played on the one that is listened to. */
import { type RawEvent, read } from "./messages";

export type Availability =
  /** The browser has no Web MIDI. */
  | "unsupported"
  /** The person or the system said no. */
  | "refused"
  /** Allowed, but nothing is plugged in. */
  | "none"
  | "ready";

export interface Keyboard {
  id: string;
  name: string;
}

export interface KeyboardsListener {
  /** A key or the pedal moved; `event` is what is stored, exactly as the device gave it. */
  onEvent?(event: RawEvent): void;
  /** Keyboards came or went; `lost` is true when the one listened to went away. */
  onChange?(keyboards: Keyboard[], lost: boolean): void;
}

/** Where the choice is remembered; `localStorage` fits. */
export interface Memory {
  getItem(key: string): string | null;
  setItem(key: string, value: string): void;
}

const REMEMBERED = "counterpane.keyboard";
/** Listens to every keyboard: the choice where two are played as one. */
export const ALL = "all";

export class Keyboards {
  private access: MIDIAccess | null = null;
  private attached: MIDIInput[] = [];
  private listener: KeyboardsListener = {};

  constructor(
    private readonly request: (() => Promise<MIDIAccess>) | undefined = defaultRequest(),
    private readonly memory: Memory = localStorage,
  ) {}

  /** Whether the person has allowed MIDI before, so that opening asks nobody anything. */
  async isAllowed(): Promise<boolean> {
    if (!this.request) return false;
    try {
      // "midi" is in the Permissions registry, and not in every browser's list of names.
      const status = await navigator.permissions.query({ name: "midi" as PermissionName });
      return status.state === "granted";
    } catch {
      return false;
    }
  }

  /** Whether the browser has Web MIDI at all. */
  get supported(): boolean {
    return this.request !== undefined;
  }

  /** Asks for permission (once; the browser remembers) and begins to listen. */
  async open(listener: KeyboardsListener): Promise<Availability> {
    this.listener = listener;
    if (!this.request) return "unsupported";
    try {
      this.access ??= await this.request();
    } catch (error) {
      // A system without a MIDI service answers NotSupportedError or InvalidStateError, a person NotAllowedError.
      return error instanceof DOMException && /Allowed|Security/.test(error.name) ? "refused" : "unsupported";
    }
    this.access.onstatechange = (event) => this.changed(event.port);
    this.attach();
    return this.availability();
  }

  availability(): Availability {
    return this.keyboards().length > 0 ? "ready" : "none";
  }

  keyboards(): Keyboard[] {
    return [...(this.access?.inputs.values() ?? [])]
      .filter((port) => port.state === "connected")
      .map((port) => ({ id: port.id, name: port.name ?? port.id }));
  }

  /** The keyboard that is listened to: the remembered one where it is plugged in, else all of them. */
  chosen(): string {
    const remembered = this.memory.getItem(REMEMBERED);
    return this.keyboards().find((keyboard) => keyboard.name === remembered)?.id ?? ALL;
  }

  choose(id: string): void {
    const keyboard = this.keyboards().find((known) => known.id === id);
    // Ids differ from one browser to the next and after updates; names stay.
    this.memory.setItem(REMEMBERED, keyboard?.name ?? ALL);
    this.attach();
  }

  /** The names of the keyboards that are heard now, as one. */
  listenedTo(): string {
    return this.attached.map((input) => input.name ?? input.id).join(" + ");
  }

  /** Sends bytes to the piano that is listened to, at a time of the page's clock; false when it takes none. */
  send(bytes: number[], atMs?: number): boolean {
    const outputs = this.outputs();
    const output = outputs.find((port) => port.name === this.attached[0]?.name) ?? outputs[0];
    output?.send(bytes, atMs);
    return output !== undefined;
  }

  /** Whether there is a piano that can be played to. */
  hasOutput(): boolean {
    return this.outputs().length > 0;
  }

  private outputs(): MIDIOutput[] {
    return [...(this.access?.outputs.values() ?? [])].filter((port) => port.state === "connected");
  }

  close(): void {
    this.detach();
    if (this.access) this.access.onstatechange = null;
    this.listener = {};
  }

  private changed(port: MIDIPort | null): void {
    if (port?.type !== "input") return;
    const lost = port.state === "disconnected" && this.attached.some((input) => input.id === port.id);
    this.attach();
    this.listener.onChange?.(this.keyboards(), lost);
  }

  private attach(): void {
    this.detach();
    const chosen = this.chosen();
    for (const input of this.access?.inputs.values() ?? []) {
      if (input.state !== "connected" || (chosen !== ALL && input.id !== chosen)) continue;
      input.onmidimessage = (message) => this.received(message);
      this.attached.push(input);
    }
  }

  private detach(): void {
    for (const input of this.attached) input.onmidimessage = null;
    this.attached = [];
  }

  private received(message: MIDIMessageEvent): void {
    const [status, data1 = 0, data2 = 0] = message.data ?? [];
    if (status === undefined || !read(status, data1, data2)) return;
    this.listener.onEvent?.([message.timeStamp, status, data1, data2]);
  }
}

function defaultRequest(): (() => Promise<MIDIAccess>) | undefined {
  return typeof navigator !== "undefined" && "requestMIDIAccess" in navigator
    ? () => navigator.requestMIDIAccess({ sysex: false })
    : undefined;
}
