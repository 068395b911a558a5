"""`counterpane assess`: what was played against what is written, as JSON or in a few lines.

The tempo is the one given; else the score's; else it is taken from the playing itself, and then the share of the
goal says nothing (`drill.tempo_from` names which of the three it was).
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import click

from counterpane.analysis import analyse
from counterpane.errors import NotFound
from counterpane.listening.assess import assess, check_measures
from counterpane.listening.midi_file import read_performance
from counterpane.listening.played_tempo import played_tempo
from counterpane.listening.report import assessment_json
from counterpane.model.assessment import Assessment
from counterpane.model.performance import Performance
from counterpane.model.piece import Hands, Piece
from counterpane.model.practice import Level, Passage
from counterpane.score import read_score
from counterpane.wording import LANGUAGES

_MEASURES = re.compile(r"(-?\d+)(?:-(-?\d+))?")


@click.command()
@click.argument("score", type=click.Path(path_type=Path))
@click.argument("performance", type=click.Path(path_type=Path))
@click.option("--measures", help="First and last measure as printed, for example 3-6; otherwise the whole piece.")
@click.option("--hands", type=click.Choice(["right", "left", "both"]), default="both", show_default=True)
@click.option("--tempo", type=click.FloatRange(10, 400), help="Goal in quarter notes a minute.")
@click.option(
    "--level", type=click.Choice(["early", "intermediate", "advanced"]), default="intermediate", show_default=True
)
@click.option("--language", type=click.Choice(LANGUAGES), default="en", show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    score: Path,
    performance: Path,
    measures: str | None,
    hands: Hands,
    tempo: float | None,
    level: Level,
    language: str,
    as_json: bool,
) -> None:
    """Assess PERFORMANCE (a MIDI file) against SCORE."""
    piece = read_score(score).piece
    first, last = _measures(piece, measures)
    played = read_performance(performance)
    goal, source = _goal(piece, Passage(first, last, hands, 0.0), played, tempo)
    passage = Passage(first, last, hands, goal)
    assessment = assess(piece, analyse(piece), passage, played, level=level, language=language)
    if as_json:
        report = assessment_json(assessment)
        report["drill"] = {**_drill(report), "tempo_from": source}
        click.echo(json.dumps(report, ensure_ascii=False))
    else:
        click.echo(_lines(assessment))


def _measures(piece: Piece, text: str | None) -> tuple[int, int]:
    if text is None:
        numbers = [measure.number for measure in piece.measures]
        return min(numbers), max(numbers)
    match = _MEASURES.fullmatch(text.strip())
    if match is None:
        raise NotFound(f'"{text}" names no measures; write the first and the last as printed, for example 3-6')
    return int(match[1]), int(match[2] or match[1])


def _goal(piece: Piece, passage: Passage, played: Performance, tempo: float | None) -> tuple[float, str]:
    if tempo is not None:
        return tempo, "option"
    if piece.tempo is not None:
        return piece.tempo, "score"
    check_measures(piece, passage)
    return played_tempo(piece, passage, played), "playing"


def _drill(report: dict[str, object]) -> dict[str, object]:
    drill = report["drill"]
    assert isinstance(drill, dict)
    return drill


def _lines(assessment: Assessment) -> str:
    return "\n".join(f"{finding.text}\n  {finding.next_step}" for finding in assessment.for_student)
