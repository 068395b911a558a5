"""`counterpane analyse`: how pieces are made, as a sheet for the lesson or as JSON.

One score: a sheet, or with --json one object. Several scores or a folder: one JSON line a piece on standard
output, or one file a piece with --out; progress and what went wrong on standard error. Exit code 0: all done; 1:
some scores could not be analysed and the rest were; 2: nothing could be done.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path

import click

from counterpane.analysis import analyse
from counterpane.analysis.report import analysis_json
from counterpane.analysis.subject_choice import parse_subject_choice
from counterpane.cli._batch import Answer, answers_here, answers_in_processes, answers_on_cluster, scores_in
from counterpane.cli._sheet import print_sheet
from counterpane.score import read_score


@click.command()
@click.argument("scores", nargs=-1, required=True, metavar="SCORE...", type=click.Path(path_type=Path))
@click.option(
    "--subject",
    metavar="HAND:MEASURE:BEAT-MEASURE:BEAT",
    help="Take this as the subject, from its first to its last note, such as right:1:1.25-1:2.75.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of the sheet.")
@click.option("--jobs", type=click.IntRange(min=1), default=1, help="How many scores to analyse side by side.")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Write one JSON file a piece here.")
@click.option("--cluster", metavar="ADDRESS", help="Send the scores to the Dask scheduler at this address.")
def command(
    scores: tuple[Path, ...], subject: str | None, as_json: bool, jobs: int, out: Path | None, cluster: str | None
) -> None:
    """Say how pieces are made: subject, statements, sequences, keys, cadences, sections.

    One SCORE prints a sheet, or with --json one object. Several, or a folder, print one JSON line a piece, or
    write one file a piece with --out. Exit code 1 means that some scores could not be analysed, 2 that none could.
    """
    if len(scores) == 1 and not scores[0].is_dir() and out is None and cluster is None:
        _one(scores[0], subject, as_json)
        return
    if subject:
        parse_subject_choice(subject)  # a slip in the option is one message, not one a score
    found = scores_in(scores)
    if cluster:
        answers = answers_on_cluster(found, subject, cluster)
    else:
        answers = answers_in_processes(found, subject, jobs) if jobs > 1 else answers_here(found, subject)
    failed = _write(answers, len(found), out)
    if failed:
        click.echo(f"{failed} of {len(found)} scores could not be analysed.", err=True)
        sys.exit(2 if failed == len(found) else 1)


def _one(score: Path, subject: str | None, as_json: bool) -> None:
    choice = parse_subject_choice(subject) if subject else None
    piece = read_score(score).piece
    analysis = analyse(piece, choice)
    if as_json:
        click.echo(json.dumps(analysis_json(piece, analysis), ensure_ascii=False))
    else:
        print_sheet(piece, analysis)


def _write(answers: Iterator[Answer], total: int, out: Path | None) -> int:
    """Write each answer as it comes and return how many scores failed."""
    if out:
        out.mkdir(parents=True, exist_ok=True)
    failed = 0
    names: set[str] = set()
    for number, answer in enumerate(answers, 1):
        click.echo(f"{number} of {total}: {answer.problem or answer.score}", err=True)
        if answer.text is None:
            failed += 1
        elif out:
            (out / _file_name(Path(answer.score), names)).write_text(answer.text + "\n", encoding="utf-8")
        else:
            click.echo(answer.text)
    return failed


def _file_name(score: Path, names: set[str]) -> str:
    """Return the score's name with the ending .json; a name that was used gets a number."""
    name, number = f"{score.stem}.json", 1
    while name in names:
        number += 1
        name = f"{score.stem}-{number}.json"
    names.add(name)
    return name
