"""Reading a score of any known format into a piece and its notation."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree.ElementTree import Element, tostring

from counterpane.errors import UnreadableScore
from counterpane.model.piece import Hand, KeySignature, Piece
from counterpane.score import humdrum, limits, musicxml
from counterpane.score.abc import abc_to_sketch
from counterpane.score.assemble import grace_notes, join_notes, number_voices
from counterpane.score.document import ScoreDocument
from counterpane.score.formats import Recognised, recognise
from counterpane.score.hands import give_hands
from counterpane.score.heads import WrittenScore
from counterpane.score.kern_signs import clean_ornaments
from counterpane.score.measures import build_measures, overfull
from counterpane.score.mei_input import repair_ties
from counterpane.score.mei_tree import drop_part_names, normalise, score_of, title_and_composer, to_text
from counterpane.score.mei_walk import Walk
from counterpane.score.mei_writer import write_mei
from counterpane.score.midi import midi_to_sketch
from counterpane.score.signs import Signs
from counterpane.score.suitable import check_notes, check_staves
from counterpane.score.verovio_process import VEROVIO


def read_score(path: Path) -> ScoreDocument:
    """Read a score file. Raises `UnreadableScore` or `UnsuitableScore` with one sentence that says why."""
    try:
        with path.open("rb") as stream:
            data = stream.read(limits.FILE_BYTES + 1)
    except OSError as error:
        raise UnreadableScore(
            f"the file cannot be opened ({error.strerror}); choose a score file.", file=path.name
        ) from error
    return read_score_bytes(data, path.name)


def read_score_bytes(data: bytes, name: str) -> ScoreDocument:
    """Read a score from its bytes; `name` is the file's name, used for messages and as a title of last resort.

    The same bytes always give the same ids. Raises `UnreadableScore` or `UnsuitableScore`.
    """
    recognised = recognise(data, name)
    notation = _notation(recognised, name)
    tree, movements = normalise(notation.mei, name)
    written = _walk(score_of(tree), name)
    drop_part_names(tree)
    if recognised.format == "humdrum":
        clean_ornaments(score_of(tree), written.heads, written.key_signatures)
    voices = number_voices(written.heads)
    hands, guessed = give_hands(written, notation.hands, parts_stated=recognised.format != "humdrum")
    notes = join_notes(written, voices, hands)
    title, composer = title_and_composer(tree)
    piece = Piece(
        title=title or Path(name).stem,
        composer=composer,
        source_hash=hashlib.sha256(data).hexdigest(),
        measures=written.measures,
        key_signatures=written.key_signatures or (KeySignature(written.measures[0].onset, 0),),
        notes=notes,
        graces=grace_notes(written, voices, hands, notes),
        tempo=notation.tempo if notation.own_tempo else written.tempo,
        hands_guessed=guessed or notation.hands_guessed,
        warnings=(*_left_out(movements), *written.warnings),
    )
    return ScoreDocument(piece, to_text(tree))


def _left_out(movements: int) -> tuple[str, ...]:
    if movements < 2:
        return ()
    return (
        f"The file holds {movements} movements; this is the first. Bring in the others from files of their own.",
    )


@dataclass(frozen=True)
class _Notation:
    """MEI of any format; whether the hands in it are a guess already, and what the file says of its staves.

    With `own_tempo` the tempo is `tempo` whatever the MEI says (verovio makes one up for kern).
    """

    mei: str
    hands_guessed: bool = False
    hands: Mapping[int, Hand] = field(default_factory=dict)
    own_tempo: bool = False
    tempo: float | None = None


def _notation(recognised: Recognised, name: str) -> _Notation:
    if recognised.format == "midi":
        midi = midi_to_sketch(recognised.data, name)
        return _Notation(write_mei(midi.sketch), midi.hands_guessed)
    if recognised.format == "abc":
        return _Notation(write_mei(abc_to_sketch(recognised.text, name)))
    if recognised.format == "humdrum":
        humdrum.check_spines(recognised.text, name)
        mei = _convert(humdrum.double_turns(recognised.text), "humdrum", name)
        hands = humdrum.hands_of_spines(recognised.text)
        return _Notation(mei, hands=hands, own_tempo=True, tempo=humdrum.tempo_of(recognised.text))
    assert recognised.xml is not None
    if recognised.format == "mei":
        repair_ties(recognised.xml)
        return _Notation(_convert(tostring(recognised.xml, encoding="unicode"), "mei", name))
    return _Notation(_convert(musicxml.prepare(recognised.xml, name), "musicxml", name))


def _convert(text: str, input_from: str, name: str) -> str:
    answer = VEROVIO.to_mei(text, input_from)
    if not answer.pages:
        raise UnreadableScore(
            "the notation in the file is damaged and cannot be read; export it again from your notation program.",
            file=name,
        )
    if input_from == "humdrum":
        humdrum.refuse_bad_rhythm(text, answer.log, name)
    return answer.pages[0]


def _walk(score: Element, name: str) -> WrittenScore:
    walk = Walk(score, name)
    check_staves(walk.staves, name)
    measured = [head for head in walk.heads if head.grace is None]
    check_notes(len(measured), walk.unpitched, name)
    signs = Signs(walk.heads, walk.measures)
    measures = build_measures(walk.measures)
    return WrittenScore(
        staves=walk.staves,
        measures=measures,
        key_signatures=tuple(walk.signatures.keys),
        heads=tuple(walk.heads),
        ties=signs.ties(score),
        ornaments=signs.ornaments(),
        fermatas=signs.fermatas(score),
        tempo=walk.signatures.tempo,
        warnings=overfull(measures),
    )
