"""From written noteheads to the piece: ties joined, voices numbered from high to low, hands given."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction

from counterpane.model.piece import GraceNote, Hand, Note
from counterpane.score.hands import Sounding, mean_pitch
from counterpane.score.heads import Head, Layer, WrittenScore


def number_voices(heads: Sequence[Head]) -> dict[Layer, int]:
    """Return the number of each layer that holds notes: from 1, from high to low by mean pitch over the piece."""
    layers: dict[Layer, list[Sounding]] = defaultdict(list)
    for head in heads:
        layers[head.layer].append((head.onset, head.onset + head.duration, head.pitch.midi))
    order = sorted(layers, key=lambda layer: (-mean_pitch(layers[layer]), layer))
    return {layer: number for number, layer in enumerate(order, 1)}


def join_notes(written: WrittenScore, voices: Mapping[Layer, int], hands: Mapping[str, Hand]) -> tuple[Note, ...]:
    """Return the sounding notes, sorted as `Piece.notes` are."""
    by_id = {head.id: head for head in written.heads}
    continued = set(written.ties.values())
    notes = [
        _note(_chain(head, written.ties, by_id), written, voices, hands)
        for head in written.heads
        if head.grace is None and head.id not in continued
    ]
    return tuple(sorted(notes, key=lambda note: (note.onset, note.hand == "left", note.midi, note.voice)))


def grace_notes(
    written: WrittenScore, voices: Mapping[Layer, int], hands: Mapping[str, Hand], notes: Sequence[Note]
) -> tuple[GraceNote, ...]:
    """Return the grace notes; each belongs to the next note of its layer, or at a layer's end to the last."""
    sounding = {head: note.id for note in notes for head in note.heads}
    principal: dict[Layer, str] = {}
    graces: list[GraceNote] = []
    trailing: list[Head] = []
    for head in reversed(written.heads):
        if head.grace is None:
            principal[head.layer] = sounding[head.id]
        elif head.layer in principal:
            graces.append(_grace(head, principal[head.layer], voices, hands))
        else:
            trailing.append(head)
    for head in trailing:
        last = next(
            (other for other in reversed(written.heads) if other.grace is None and other.layer == head.layer), None
        )
        if last is not None:
            graces.append(_grace(head, sounding[last.id], voices, hands))
    order = {head.id: place for place, head in enumerate(written.heads)}
    return tuple(sorted(graces, key=lambda grace: (grace.onset, order[grace.id])))


def _chain(head: Head, ties: Mapping[str, str], by_id: Mapping[str, Head]) -> list[Head]:
    chain = [head]
    while chain[-1].id in ties:
        chain.append(by_id[ties[chain[-1].id]])
    return chain


def _note(
    chain: list[Head], written: WrittenScore, voices: Mapping[Layer, int], hands: Mapping[str, Hand]
) -> Note:
    first = chain[0]
    return Note(
        id=first.id,
        hand=hands[first.id],
        voice=voices[first.layer],
        onset=first.onset,
        duration=sum((head.duration for head in chain), Fraction(0)),
        pitch=first.pitch,
        ornaments=tuple(name for head in chain for name in written.ornaments.get(head.id, ())),
        articulations=tuple(dict.fromkeys(name for head in chain for name in head.articulations)),
        fermata=any(head.id in written.fermatas for head in chain),
        heads=tuple(head.id for head in chain),
    )


def _grace(head: Head, principal: str, voices: Mapping[Layer, int], hands: Mapping[str, Hand]) -> GraceNote:
    return GraceNote(
        head.id, hands[head.id], voices[head.layer], head.onset, head.pitch, principal, head.grace == "slashed"
    )
