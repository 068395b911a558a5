"""Keys and cadences of chorales against published analyses and against what the scores themselves say.

Sources: see chorale_analyses.py. The weights of the key path were chosen on the analyses with an even number in
their order here; the others are held out. Phrase ends are the fermatas of the scores.
"""

from __future__ import annotations

from counterpane.analysis.cadences import find_cadences
from counterpane.analysis.key_names import keys_of_signature
from counterpane.analysis.keys import find_keys
from counterpane.model.analysis import Cadence
from counterpane.model.piece import Place
from counterpane.score import read_score
from tests.published.chorale_analyses import BACH, Analysed, analyses

SIMPLE_CHORALES = (253, 254, 255, 256, 258, 259, 260, 261, 262, 264, 265, 266)


def measures_right(one: Analysed) -> tuple[int, int]:
    """Return in how many measures our key is one that the analysis has there, and the number of measures."""
    keys = [key for key in find_keys(one.piece)[1] if one.keys_in(key.measure)]
    return sum(key.key in one.keys_in(key.measure) for key in keys), len(keys)


def test_keys_by_measure_where_nothing_was_tuned() -> None:
    """In at least 85 of 100 measures of the held-out chorales the key is one that the analysis has there."""
    held_out = [measures_right(one) for one in analyses()[1::2]]
    assert len(held_out) >= 8
    assert 0.85 * sum(total for _, total in held_out) <= sum(right for right, _ in held_out)


def test_key_of_the_piece_as_analysed() -> None:
    """The key of the piece is the first or the last key of its analysis, in all chorales but one at most."""
    agreed = [find_keys(one.piece)[0] in {one.chords[0].key, one.chords[-1].key} for one in analyses()]
    assert len(agreed) - 1 <= sum(agreed)


def test_key_of_the_piece_against_signature_and_last_chord() -> None:
    """A chorale whose last bass note is a tonic of its signature is in that key (common practice, no source)."""
    checked = 0
    for number in SIMPLE_CHORALES:
        piece = read_score(BACH / f"bwv{number}.mxl").piece
        lowest = min(piece.notes[-4:], key=lambda note: note.midi)
        expected = [k.name for k in keys_of_signature(piece.key_signatures[0]) if k.tonic == lowest.midi % 12]
        if expected:
            checked += 1
            assert expected == [find_keys(piece)[0]], number
    assert checked >= 8


def phrase_ends(one: Analysed) -> list[Place]:
    """Return where the notes under fermatas begin; notes within a beat of each other are one phrase end."""
    onsets = sorted({note.onset for note in one.piece.notes if note.fermata})
    ends = [b for a, b in zip([*onsets[1:], None], onsets, strict=True) if a is None or a - b > 1]
    return [one.piece.place(onset) for onset in ends]


def cadence_near(cadences: tuple[Cadence, ...], place: Place) -> Cadence | None:
    """Return the cadence within a beat of a place."""
    return next((c for c in cadences if abs(c.place.offset - place.offset) <= 1), None)


def test_fermatas_are_phrase_ends_and_phrase_ends_cadences() -> None:
    """At least nine of ten fermatas are found as cadences, and few cadences stand elsewhere."""
    found = ends = elsewhere = 0
    for one in analyses():
        cadences = find_cadences(one.piece, find_keys(one.piece)[1])
        places = phrase_ends(one)
        ends += len(places)
        found += sum(cadence_near(cadences, place) is not None for place in places)
        elsewhere += sum(all(abs(c.place.offset - p.offset) > 1 for p in places) for c in cadences)
    assert ends >= 80
    assert 0.9 * ends <= found
    assert elsewhere <= 0.15 * ends


def test_kinds_of_cadences_as_analysed() -> None:
    """Where the analysis has V-I or a stop on V at a fermata, at least 85 in 100 are called authentic or half."""
    expected, called = [], []
    for one in analyses():
        cadences = find_cadences(one.piece, find_keys(one.piece)[1])
        for place in phrase_ends(one):
            index = one.at(place.measure, float(place.beat))
            before, here = one.chords[max(0, index - 1)].degree, one.chords[index].degree
            kind = {("V", "I"): "authentic"}.get((before, here), "half" if here == "V" else None)
            cadence = cadence_near(cadences, place)
            if kind and cadence:
                expected.append(kind)
                called.append(cadence.kind)
    assert {"authentic", "half"} == set(expected)
    assert 0.85 * len(expected) <= sum(a == b for a, b in zip(expected, called, strict=True))
