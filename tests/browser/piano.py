"""A digital piano on a cable: real MIDI bytes with the device's times, delivered where a browser delivers them."""

from __future__ import annotations

from collections.abc import Sequence

from playwright.sync_api import Page

from counterpane.model.piece import Note

RawEvent = tuple[float, int, int, int]

# Chromium on a machine without a MIDI system refuses Web MIDI; only that door is replaced, by one that behaves as
# the W3C's Web MIDI API says (MIDIAccess, MIDIInput, statechange, midimessage with data and timeStamp).
PLUGGED_IN = """
(() => {
  const port = (id, type) => Object.assign(new EventTarget(), {
    id, name: id, manufacturer: "test", version: "1", type, state: "connected", connection: "open",
    onmidimessage: null, onstatechange: null, send: () => {},
  });
  const access = Object.assign(new EventTarget(), {
    inputs: new Map(), outputs: new Map(), sysexEnabled: false, onstatechange: null,
  });
  const tell = (changed) => {
    const event = Object.assign(new Event("statechange"), { port: changed });
    access.onstatechange?.(event);
    access.dispatchEvent(event);
  };
  window.piano = {
    plug() { const p = port("test piano", "input"); access.inputs.set(p.id, p); tell(p); },
    unplug() { const [p] = access.inputs.values(); p.state = "disconnected"; access.inputs.clear(); tell(p); },
    send(bytes, at) {
      const [p] = access.inputs.values();
      if (!p) return;
      const event = Object.defineProperties(new Event("midimessage"), {
        data: { value: Uint8Array.from(bytes) }, timeStamp: { value: at },
      });
      p.onmidimessage?.(event);
    },
    play(events) {
      const start = performance.now();
      const strike = ([at, ...bytes]) => new Promise((done) => {
        setTimeout(() => done(window.piano.send(bytes, start + at)), at);
      });
      return Promise.all(events.map(strike)).then(() => undefined);
    },
  };
  window.piano.plug();
  navigator.requestMIDIAccess = async () => access;
})();
"""
REFUSED = "navigator.requestMIDIAccess = async () => { throw new DOMException('no', 'NotAllowedError'); };"
MISSING = "delete Navigator.prototype.requestMIDIAccess;"


def keys(
    notes: Sequence[Note], tempo: float, *, moved: dict[str, int] | None = None, by: int = 0
) -> list[RawEvent]:
    """Return key events that play `notes` at `tempo` quarters a minute, each key `by` semitones off.

    `moved` names notes that are struck some semitones off on their own.
    """
    start = min(note.onset for note in notes)
    quarter_ms = 60_000 / tempo
    events: list[RawEvent] = []
    for note in notes:
        key = note.midi + by + (moved or {}).get(note.id, 0)
        at = float(note.onset - start) * quarter_ms
        events += [
            (at, 0x90, key, 72),
            (at + float(note.duration) * quarter_ms * 0.9, 0x80, key, 0),
        ]
    return sorted(events)


def play(page: Page, events: Sequence[RawEvent]) -> None:
    """Play on the piano once the page listens, until the last key is up."""
    page.locator(".desk-count", has_text="Listening").wait_for()
    page.evaluate("events => window.piano.play(events)", [list(event) for event in events])
