"""`counterpane analyse`: how a piece is made."""

from __future__ import annotations

import json
from pathlib import Path

import click

from counterpane.analysis import analyse
from counterpane.analysis.report import analysis_json
from counterpane.analysis.subject_choice import parse_subject_choice
from counterpane.score import read_score


@click.command()
@click.argument("score", type=click.Path(path_type=Path))
@click.option(
    "--subject", metavar="HAND:MEASURE:BEAT-MEASURE:BEAT", help="Take this as the subject, first to last note."
)
@click.option("--json", "as_json", is_flag=True, help="Print the analysis as one JSON object.")
def command(score: Path, subject: str | None, as_json: bool) -> None:
    """Say how a piece is made: subject, statements, sequences, keys, cadences, sections."""
    choice = parse_subject_choice(subject) if subject else None
    piece = read_score(score).piece
    click.echo(json.dumps(analysis_json(piece, analyse(piece, choice)), ensure_ascii=False))
