"""How surprising a figure is in a given piece: bits of information under a model without any subject.

The model knows how lines of this piece move from note to note, and nothing longer: the next interval in scale
steps given the one before, and the ratio of the next time between onsets to the one before. A figure
that follows the habits of the piece (a scale among scales) carries few bits; chance produces a figure of b
bits about once in 2**b places, so that a match counts as a statement only when its bits exceed what naming
it costs. Intervals are counted together with their mirror images: an upright and an inverted figure carry
the same information.

Method: two-part description length with add-constant smoothing (Rissanen 1978; Cleary and Witten 1984, for
the blending of orders). The prior over intervals is common practice, no source: steps before leaps,
octaves before sevenths.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from counterpane.analysis.steps import Flags, Floats, Ints, Lines

_WIDEST = 9
_KINDS = 2 * _WIDEST + 1
# Probability of moving by this many steps, up or down each, before anything is known of the piece.
_SHARE_OF_STEPS = (0.08, 0.235, 0.085, 0.05, 0.03, 0.025, 0.01, 0.02, 0.004, 0.001)
_PRIOR_NOTES = 60.0  # the prior weighs as much as this many notes
_CONTEXT_NOTES = 24.0  # and the single interval as much as this many pairs
_COMMON_RATIO = 0.6  # prior share of "as long as the note before"
# Rhythms return without their pitches, so that no single one may prove much.
_MOST_RATIO_BITS = 1.5
_RARE = 0.02  # prior share of any other ratio of times


@dataclass(frozen=True)
class NullModel:
    """Bits of intervals given the one before (rows: before, columns: after) and of ratios of times."""

    first_bits: Floats
    pair_bits: Floats
    ratio_bits: dict[float, float]
    unseen_ratio_bits: float

    def information(self, steps: Ints, onsets: Ints) -> Floats:
        """Return the bits that each note of a figure carries given those before it; the first carries none."""
        if len(steps) < 2:
            return np.zeros(len(steps))
        kinds = _kind(np.diff(steps))
        gaps = np.diff(onsets)
        bits = np.empty(len(steps))
        bits[0] = 0.0
        bits[1] = self.first_bits[kinds[0]]
        bits[2:] = self.pair_bits[kinds[:-1], kinds[1:]]
        bits[1] += 1.0  # where the second note falls: one of two usual values
        bits[2:] += [
            min(_MOST_RATIO_BITS, self.ratio_bits.get(ratio, self.unseen_ratio_bits)) for ratio in _ratios(gaps)
        ]
        return bits


def null_model_of(lines: Lines, stated: Flags | None = None) -> NullModel:
    """Count the habits of a piece's lines, blended with a prior that stands for tonal music at large.

    Notes of `lines.joined` that are `stated` (they belong to statements already found) are left out, so that
    a piece made of its subject throughout does not make the subject look ordinary.
    """
    line = lines.joined
    counted = line.gap < lines.apart // 2  # the step from the end of one line to the next is none
    if stated is not None:
        counted &= ~(stated[:-1] & stated[1:])
    kinds = _kind(line.interval)
    both = counted[:-1] & counted[1:]
    single = np.zeros(_KINDS)
    pairs = np.zeros((_KINDS, _KINDS))
    for seen in (kinds, _KINDS - 1 - kinds):
        single += np.bincount(seen[counted], minlength=_KINDS)
        pair = seen[:-1] * _KINDS + seen[1:]
        pairs += np.bincount(pair[both], minlength=_KINDS**2).reshape(_KINDS, _KINDS)
    values, counts = np.unique(_ratios(line.gap)[both], return_counts=True)
    ratios = dict(zip(values.tolist(), counts.tolist(), strict=True))
    prior = np.array([_SHARE_OF_STEPS[abs(kind - _WIDEST)] for kind in range(_KINDS)])
    prior /= prior.sum()
    one = (single + _PRIOR_NOTES * prior) / (single.sum() + _PRIOR_NOTES)
    two = (pairs + _CONTEXT_NOTES * one) / (pairs.sum(axis=1, keepdims=True) + _CONTEXT_NOTES)
    total = sum(ratios.values()) + _PRIOR_NOTES
    return NullModel(
        first_bits=-np.log2(one),
        pair_bits=-np.log2(two),
        ratio_bits={
            ratio: -float(np.log2((count + _PRIOR_NOTES * _ratio_prior(ratio)) / total))
            for ratio, count in ratios.items()
        },
        unseen_ratio_bits=-float(np.log2(_PRIOR_NOTES * _RARE / total)),
    )


def _kind(intervals: Ints) -> Ints:
    return np.clip(intervals, -_WIDEST, _WIDEST) + _WIDEST


def _ratios(gaps: Ints) -> Floats:
    return np.round(gaps[1:] / gaps[:-1], 4)


def _ratio_prior(ratio: float) -> float:
    return _COMMON_RATIO if ratio == 1.0 else _RARE
