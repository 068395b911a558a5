"""Ornament signs from kern, cleaned of what verovio adds: accidentals that the key says anyway, turns put off."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element

from counterpane.model.piece import STEPS, KeySignature
from counterpane.score.durations import alter_in_key
from counterpane.score.heads import Head

_SIGNS = {"trill", "mordent", "turn"}
_ALTERS = {"s": 1, "n": 0, "f": -1}


def clean_ornaments(score: Element, heads: Sequence[Head], keys: Sequence[KeySignature]) -> None:
    """Remove accidentals of neighbour notes that are the key's own, and let turns stand over their notes.

    kern says of each ornament how wide its step is; in print only what departs from the key is shown.
    """
    by_id = {head.id: head for head in heads}
    for measure in score.iter("measure"):
        for sign in measure:
            head = by_id.get(sign.get("startid", "").lstrip("#"))
            if sign.tag not in _SIGNS or head is None:
                continue
            sign.attrib.pop("delayed", None)
            fifths = next((key.fifths for key in reversed(keys) if key.onset <= head.onset), 0)
            for attribute, steps in (("accidupper", 1), ("accidlower", -1)):
                neighbour = STEPS[(STEPS.index(head.pitch.step) + steps) % 7]
                if _ALTERS.get(sign.get(attribute, "")) == alter_in_key(neighbour, fifths):
                    del sign.attrib[attribute]
