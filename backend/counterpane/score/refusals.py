"""The sentences that more than one reader has to say; each function makes the error to raise."""

from __future__ import annotations

from counterpane.errors import UnsuitableScore
from counterpane.score import limits

_ONE_MOVEMENT = "bring in one movement at a time."
_KEYBOARD_PART = "choose a keyboard piece, or save the keyboard part alone."


def too_many_notes(name: str) -> UnsuitableScore:
    """Make the error for a piece above `limits.NOTES`."""
    return UnsuitableScore(f"the piece has more than {limits.NOTES} notes; {_ONE_MOVEMENT}", file=name)


def too_many_measures(name: str) -> UnsuitableScore:
    """Make the error for a piece above `limits.MEASURES`."""
    return UnsuitableScore(f"the piece is longer than {limits.MEASURES} measures; {_ONE_MOVEMENT}", file=name)


def too_much_music(name: str) -> UnsuitableScore:
    """Make the error for an ABC tune above `limits.ABC_CHARACTERS`."""
    return UnsuitableScore(
        f"the ABC tune has more than {limits.ABC_CHARACTERS} characters of music; {_ONE_MOVEMENT}", file=name
    )


def too_large(what: str, size: int, name: str) -> UnsuitableScore:
    """Make the error for a file above `size` bytes; `what` says how it is too large."""
    return UnsuitableScore(f"{what} more than {size // limits.MEGABYTE} MB; {_ONE_MOVEMENT}", file=name)


def no_notes(name: str) -> UnsuitableScore:
    """Make the error for a score without a single note."""
    return UnsuitableScore("the score has no notes; choose one that has music in it.", file=name)


def percussion_only(name: str) -> UnsuitableScore:
    """Make the error for a score in which nothing has a pitch."""
    return UnsuitableScore("the score is for percussion, without pitches; choose a keyboard piece.", file=name)


def ensemble(what: str, name: str) -> UnsuitableScore:
    """Make the error for more parts than a keyboard player has; `what` names them."""
    return UnsuitableScore(f"the score has {what}, so it is for an ensemble; {_KEYBOARD_PART}", file=name)
