"""The moments at which music may come to rest, with what a cadence is judged by.

An arrival is a beat on which something sounds. For it are gathered: the bass and the harmony on the beat and just
before it, which voices resolve a leading tone, and how much of an ending is heard (a longer note, a rest, a
fermata, the end of a repeated part, a fresh start in another voice).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from counterpane.analysis.meter import beat_length, strength
from counterpane.analysis.texture import MOMENT, Texture, VoiceTrack
from counterpane.model.piece import Measure, Note, Piece


@dataclass(frozen=True)
class Arrival:
    """A beat and what leads to it.

    `moves` pairs the notes of each voice before and on the beat, `approach` are the notes of all voices that are
    struck in the two beats before, in time order.
    """

    offset: Fraction
    measure: Measure
    strength: int
    bass: Note
    bass_before: tuple[Note, ...]
    chord: tuple[Note, ...]
    chord_before: tuple[Note, ...]
    top: Note
    top_before: tuple[Note, ...]
    moves: tuple[tuple[Note, Note], ...]
    approach: tuple[Note, ...]
    fermata: bool
    last: bool
    closes_repeat: bool
    stillness: float

    @property
    def notes(self) -> tuple[str, ...]:
        """Ids of the last chord and of the one before it."""
        return tuple(dict.fromkeys(note.id for note in (*self.chord_before, *self.chord)))


def arrivals(piece: Piece, texture: Texture) -> Iterator[Arrival]:
    """Yield the arrivals of `piece` in time order."""
    times = sorted(_beats(piece) | _fermatas(piece))
    final = max((note.onset for note in piece.notes), default=Fraction(0))
    for offset in times:
        arrival = _arrival(piece, texture, offset, final)
        if arrival is not None:
            yield arrival


def _beats(piece: Piece) -> set[Fraction]:
    onsets = {note.onset for note in piece.notes}
    beats = set()
    for measure in piece.measures:
        beat = beat_length(measure)
        offset = measure.onset - measure.padding % beat if measure.padding else measure.onset
        while offset < measure.end:
            if offset in onsets:
                beats.add(offset)
            offset += beat
    return beats


def _fermatas(piece: Piece) -> set[Fraction]:
    """Return where chords under a fermata begin: the latest onset of the marked notes that sound together."""
    marked = sorted((note for note in piece.notes if note.fermata), key=lambda note: note.onset)
    places: list[Note] = []
    for note in marked:
        if places and note.onset < places[-1].end:
            places[-1] = note
        else:
            places.append(note)
    return {note.onset for note in places}


def _arrival(piece: Piece, texture: Texture, offset: Fraction, final: Fraction) -> Arrival | None:
    measure = piece.measure_at(offset)
    beat = float(beat_length(measure))
    time = float(offset)
    pairs = [(_arriving(track, time, beat), _leaving(track, time, beat)) for track in texture.tracks]
    chord = tuple(sorted((n for now, _ in pairs for n in now), key=lambda note: note.midi))
    before = tuple(sorted((n for _, last in pairs for n in last), key=lambda note: note.midi))
    if not chord or not before:
        return None
    return Arrival(
        offset=offset,
        measure=measure,
        strength=strength(piece, offset),
        bass=chord[0],
        bass_before=_bass_before(texture, time, beat),
        chord=chord,
        chord_before=before,
        top=chord[-1],
        top_before=tuple(texture.tracks[0].struck_between(time - beat, time)),
        moves=tuple(_moves(texture, pairs, beat)),
        approach=tuple(texture.struck_between(time - 2 * beat, time)),
        fermata=any(note.fermata for note in chord),
        last=offset >= final - Fraction(beat_length(measure)),
        closes_repeat=measure.repeat_end and not texture.struck_between(time + beat, float(measure.end)),
        stillness=_stillness(texture, pairs, time, beat),
    )


def _arriving(track: VoiceTrack, time: float, beat: float) -> list[Note]:
    """Return what the voice has on the beat, or, where it rests there, what it strikes within half a beat."""
    return track.sounding(time) or track.struck_between(time, time + beat / 2 + 2 * MOMENT)[:1]


def _leaving(track: VoiceTrack, time: float, beat: float) -> list[Note]:
    return track.last_before(time, beat)


def _moves(
    texture: Texture, pairs: list[tuple[list[Note], list[Note]]], beat: float
) -> Iterator[tuple[Note, Note]]:
    """Yield the notes of each voice before and on the beat; an anticipation gives way to the note it follows."""
    for track, (now, last) in zip(texture.tracks, pairs, strict=True):
        if now and last:
            anticipates = last[-1].midi == now[-1].midi and last[-1].duration < beat
            before = track.last_before(float(last[-1].onset), beat) if anticipates else ()
            yield (before or last)[-1], now[-1]


def _bass_before(texture: Texture, time: float, beat: float) -> tuple[Note, ...]:
    """Return the notes within the two beats before of the voice that was the lowest there, the last one first.

    A bass note that is held through them counts, too. Which voice is the lowest changes where voices cross.
    """
    lines = [
        track.struck_between(time - 2 * beat, time) or track.last_before(time, beat)
        for track in reversed(texture.tracks)
    ]
    return tuple(reversed(min(filter(None, lines), key=lambda line: line[-1].midi, default=())))


def _stillness(texture: Texture, pairs: list[tuple[list[Note], list[Note]]], time: float, beat: float) -> float:
    """Return 0 to 1: how far the voices come to rest on the beat, by longer notes and by rests after them."""
    still = []
    for now, last in pairs:
        if not now:
            still.append(0.5)
            continue
        note = now[-1]
        grown = float(note.duration) >= 2 * float(min(n.duration for n in last)) if last else True
        still.append(1.0 if grown and float(note.end) - time >= beat - MOMENT else 0.5 if grown else 0.0)
    movement = len(texture.struck_between(time + MOMENT * 2, time + beat))
    calm = 1.0 if movement == 0 else 0.5 if movement <= 2 else 0.0
    return 0.7 * sum(still) / len(still) + 0.3 * calm
