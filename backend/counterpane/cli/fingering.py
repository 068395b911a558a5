"""`counterpane fingering SCORE`: a proposal for the fingers of each hand, around those that are given."""

from __future__ import annotations

import json
from pathlib import Path

import click

from counterpane.errors import CounterpaneError
from counterpane.model.piece import Hand, Piece
from counterpane.practice.fingering import position_changes, propose
from counterpane.score import read_score

_HANDS: tuple[Hand, Hand] = ("right", "left")


@click.command("fingering")
@click.argument("score", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--fix", "fixed", multiple=True, metavar="NOTE=FINGER", help="A finger that shall stay, 1 to 5.")
def command(score: Path, fixed: tuple[str, ...]) -> None:
    """Print the easiest fingers for every note of SCORE as JSON, and where the hands change their position.

    It is a proposal: the fingers given with --fix stay, and the rest is found around them.
    """
    piece = read_score(score).piece
    wanted = dict(map(_fixed, fixed))
    unknown = sorted(wanted.keys() - piece.by_id.keys())
    if unknown:
        raise CounterpaneError(f"{score.name} has no note {unknown[0]}: take the ids that this command prints.")
    click.echo(json.dumps({hand: _hand(piece, hand, wanted) for hand in _HANDS}, indent=2))


def _fixed(text: str) -> tuple[str, int]:
    note, _, finger = text.partition("=")
    if not note or not finger.isdigit():
        raise CounterpaneError(f"--fix {text} cannot be read: write a note and a finger, for example n12=3.")
    return note, int(finger)


def _hand(piece: Piece, hand: Hand, wanted: dict[str, int]) -> dict[str, object]:
    notes = [note for note in piece.notes if note.hand == hand]
    own = {note.id: wanted[note.id] for note in notes if note.id in wanted}
    fingers = propose(piece, hand, own)
    places = {note.id: piece.place(note.onset) for note in notes}
    return {
        "fingers": [
            {"note": note, "measure": places[note].measure, "beat": float(places[note].beat), "finger": finger}
            for note, finger in fingers.items()
        ],
        "position_changes": list(position_changes(notes, hand, fingers)),
    }
