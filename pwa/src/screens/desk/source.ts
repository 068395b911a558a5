/** Where key events come from: Web MIDI in this browser, or a computer at the piano paired by a code. */
import { send } from "../../api/client";
import { type Availability, type Keyboard, Keyboards } from "../../midi/keyboards";
import type { RawEvent } from "../../midi/messages";

export type SourceKind = "web-midi" | "paired";

export interface SourceListener {
  onEvent(event: RawEvent): void;
  /** Keyboards or the pairing came, went or were lost while in use. */
  onChange(lost: boolean): void;
}

/** The browser's own MIDI. */
export class BrowserSource {
  readonly kind: SourceKind = "web-midi";
  readonly keyboards = new Keyboards();

  async open(listener: SourceListener): Promise<Availability> {
    return this.keyboards.open({
      onEvent: (event) => listener.onEvent(event),
      onChange: (_: Keyboard[], lost: boolean) => listener.onChange(lost),
    });
  }

  close(): void {
    this.keyboards.close();
  }
}

/** A computer at the piano, which streams what it hears to this page. */
export class PairedSource {
  readonly kind: SourceKind = "paired";
  private stream: EventSource | null = null;
  private code = "";

  /** Asks the studio for a code to type on the computer; events flow once that is done. */
  async open(listener: SourceListener): Promise<{ code: string; minutes: number }> {
    const pairing = await send<{ code: string; minutes: number }>("POST", "/api/pairings");
    this.code = pairing.code;
    this.stream = new EventSource(`/api/pairings/${encodeURIComponent(pairing.code)}/stream`);
    this.stream.addEventListener("keys", (message) => {
      for (const event of JSON.parse((message as MessageEvent<string>).data) as RawEvent[])
        listener.onEvent(event);
    });
    this.stream.addEventListener("paired", () => listener.onChange(false));
    this.stream.addEventListener("ended", () => listener.onChange(true));
    return pairing;
  }

  close(): void {
    this.stream?.close();
    this.stream = null;
    if (this.code) void send("DELETE", `/api/pairings/${encodeURIComponent(this.code)}`).catch(() => undefined);
    this.code = "";
  }
}
