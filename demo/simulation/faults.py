"""How a simulated student plays: one number a fault, and the kinds of session made of them."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Faults:
    """Rates are chances a written note (or, where it says so, an onset or a measure); times in milliseconds.

    `tempo_share` is the tempo as a share of the passage's goal; `drift` the share by which the tempo has
    changed at the end (0.3: a third faster); `jitter_ms` the standard deviation of every onset about the
    beat; `asynchrony_ms` the mean by which the left hand comes after the right. `pause_ms` is the median of
    a hesitation and of the pause before a jump.
    """

    tempo_share: float = 1.0
    drift: float = 0.0
    jitter_ms: float = 12.0
    asynchrony_ms: float = 5.0
    asynchrony_sd_ms: float = 8.0
    chord_spread_ms: float = 6.0
    rubato: float = 0.0
    """Standard deviation of the logarithm of a tempo that wanders; phrases end slower by three times as much."""

    rolled: float = 0.0
    """Chance that a chord of three notes or more is rolled from below, by at most 20 to 70 ms a note."""

    lead_ms: float = 0.0
    """How much sooner the highest of the notes struck together comes, on average."""

    wrong: float = 0.0
    corrected: float = 0.0
    missed: float = 0.0
    missed_run: float = 0.0
    """A run of two to six notes of one hand, chance an onset."""

    added: float = 0.0
    brushed: float = 0.0
    """A neighbouring key caught together with the right one."""

    hesitation: float = 0.0
    """Chance an onset."""

    restart: float = 0.0
    """Chance an onset of breaking off and starting again: from the measure, the beat, or where the pass began."""

    restart_after_slip: float = 0.0
    """Chance of the same directly after a wrong or missed note."""

    repeat_measure: float = 0.0
    """Chance a measure of playing it again."""

    back: float = 0.0
    """Chance a measure of going back one to three measures."""

    skip: float = 0.0
    """Chance a measure of leaving out the next one or two."""

    early_stop: float = 0.0
    late_start: float = 0.0
    """Chance a session of ending, or of beginning, inside the passage."""

    one_hand: float = 0.0
    """Chance a session of one hand alone."""

    hand_drops_out: float = 0.0
    """Chance a measure that one hand is silent for one or two measures."""

    hand_lags: float = 0.0
    """Chance a measure that one hand comes late by a quarter to a half of a beat for that measure."""

    ornaments: float = 0.0
    """Chance that a written ornament is played out."""

    pause_ms: float = 900.0
    any_key: float = 0.1
    """Share of wrong and added notes that are any key near the hand, not a neighbour, step or octave."""

    velocity: float = 64.0
    velocity_sd: float = 8.0
    legato: float = 0.92
    legato_sd: float = 0.12
    """Sounding length as a share of the written one: below 1 detached, above 1 overlapping."""


_SLIPS = Faults(jitter_ms=20.0, asynchrony_sd_ms=14.0, chord_spread_ms=10.0)
_MIXED = replace(
    _SLIPS,
    tempo_share=0.7,
    drift=0.1,
    wrong=0.02,
    corrected=0.012,
    missed=0.02,
    missed_run=0.002,
    added=0.012,
    brushed=0.006,
    hesitation=0.02,
    restart=0.008,
    restart_after_slip=0.25,
    repeat_measure=0.04,
    back=0.03,
    skip=0.02,
    early_stop=0.2,
    late_start=0.2,
    one_hand=0.1,
    hand_drops_out=0.02,
    ornaments=0.5,
)

FAULT_KINDS: dict[str, Faults] = {
    "clean": Faults(),
    "slow": replace(_SLIPS, tempo_share=0.3, jitter_ms=45.0, asynchrony_sd_ms=30.0),
    "fast": replace(_SLIPS, tempo_share=1.8),
    "drifting": replace(_SLIPS, drift=0.6),
    "hesitating": replace(_SLIPS, hesitation=0.08, tempo_share=0.7),
    "wrong": replace(_SLIPS, wrong=0.05),
    "corrected": replace(_SLIPS, corrected=0.05),
    "missed": replace(_SLIPS, missed=0.05, missed_run=0.004),
    "added": replace(_SLIPS, added=0.04, brushed=0.02),
    "restarts": replace(_SLIPS, restart=0.03, tempo_share=0.8),
    "repeats": replace(_SLIPS, repeat_measure=0.25),
    "going back": replace(_SLIPS, back=0.15),
    "skips": replace(_SLIPS, skip=0.12),
    "early stop": replace(_SLIPS, early_stop=1.0),
    "late start": replace(_SLIPS, late_start=1.0),
    "one hand": replace(_SLIPS, one_hand=1.0),
    "hands apart": replace(_SLIPS, hand_drops_out=0.1, hand_lags=0.06, missed_run=0.006),
    "ornaments": replace(_SLIPS, ornaments=1.0),
    "concert": replace(
        _SLIPS,
        jitter_ms=8.0,
        rubato=0.12,
        rolled=0.2,
        lead_ms=15.0,
        wrong=0.002,
        missed=0.005,
        added=0.003,
        ornaments=1.0,
        legato_sd=0.25,
    ),
    "mixed": _MIXED,
    "hard mix": replace(
        _MIXED,
        tempo_share=0.5,
        jitter_ms=40.0,
        wrong=0.05,
        corrected=0.025,
        missed=0.04,
        added=0.03,
        restart=0.02,
        hesitation=0.05,
        hand_lags=0.02,
        any_key=0.3,
    ),
}
"""The kinds of session that tests and benchmarks play."""
