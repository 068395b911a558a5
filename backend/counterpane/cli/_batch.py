"""Many scores at once: in this process, in several, or on the workers of a Dask scheduler.

Every score is one job that answers with a JSON line or with the sentence that says why there is none; jobs do not
know of each other, so a score that cannot be read costs nothing but itself, and a worker that is killed a repeat.
"""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import click

from counterpane.analysis import analyse
from counterpane.analysis.report import analysis_json
from counterpane.analysis.subject_choice import parse_subject_choice
from counterpane.errors import CounterpaneError
from counterpane.score import limits, read_score, read_score_bytes

SUFFIXES = frozenset({".abc", ".krn", ".mei", ".mid", ".midi", ".mxl", ".musicxml", ".xml"})
_WORKER_WITHIN = 30  # seconds
_ANSWER_WITHIN = 5  # seconds
_UNDER_WAY = 64
_RETRIES = 3


@dataclass(frozen=True)
class Answer:
    """What became of one score: its JSON object as text, or the sentence that says what is wrong."""

    score: str
    text: str | None
    problem: str | None


def scores_in(paths: Iterable[Path]) -> list[Path]:
    """Return the files among `paths`, and of every folder the scores in it and below, in order of name.

    Raises `click.BadParameter` for a path that does not exist and for a folder without any score.
    """
    found: list[Path] = []
    for path in paths:
        if not path.exists():
            raise click.BadParameter(f"{path} does not exist; give score files or a folder of them.")
        inside = sorted(p for p in path.rglob("*") if p.suffix.lower() in SUFFIXES) if path.is_dir() else [path]
        if not inside:
            raise click.BadParameter(
                f"{path} holds no score; the endings known are {', '.join(sorted(SUFFIXES))}."
            )
        found += inside
    return found


def answer(score: str, data: bytes | None, subject: str | None) -> Answer:
    """Analyse one score from its bytes or, without them, from its path, in whatever process this is sent to."""
    try:
        choice = parse_subject_choice(subject) if subject else None
        document = read_score(Path(score)) if data is None else read_score_bytes(data, Path(score).name)
        report = analysis_json(document.piece, analyse(document.piece, choice))
    except CounterpaneError as error:
        return Answer(score, None, str(error))
    return Answer(score, json.dumps({"score": score, **report}, ensure_ascii=False), None)


def answers_here(scores: list[Path], subject: str | None) -> Iterator[Answer]:
    """Yield the answers in order, one after the other in this process."""
    return (answer(str(score), None, subject) for score in scores)


def answers_in_processes(scores: list[Path], subject: str | None, jobs: int) -> Iterator[Answer]:
    """Yield the answers in order from `jobs` processes; a score whose process dies twice is reported and left."""
    waiting = [str(score) for score in scores]
    died_on = None
    while waiting:
        with ProcessPoolExecutor(jobs) as pool:
            futures = [pool.submit(answer, score, None, subject) for score in waiting]
            for future in futures:
                try:
                    found = future.result()
                except BrokenProcessPool:
                    break
                waiting.pop(0)
                yield found
        if waiting:
            if died_on == waiting[0]:
                yield Answer(waiting.pop(0), None, f"{died_on}: its process died twice; try it alone.")
            died_on = waiting[0] if waiting else None


def answers_on_cluster(scores: list[Path], subject: str | None, address: str) -> Iterator[Answer]:
    """Yield the answers in order from the workers of a Dask scheduler; what a lost worker had is done again.

    The files are sent along, so the workers need the package but no common disk. Raises `CounterpaneError` when
    the extra `cluster` is not installed or no scheduler answers at `address`.
    """
    try:
        from distributed import Client
    except ImportError:
        raise CounterpaneError("--cluster needs the extra: pip install 'counterpane[cluster]'.") from None
    try:
        client = Client(address, timeout=_ANSWER_WITHIN)
    except (OSError, ValueError):
        raise CounterpaneError(f"no scheduler answers at {address}; start one, or leave --cluster out.") from None
    with client:
        try:
            client.wait_for_workers(1, timeout=_WORKER_WITHIN)
        except TimeoutError:
            raise CounterpaneError(f"the scheduler at {address} has no workers; start some first.") from None
        waiting = iter(scores)
        under_way = deque(_send(client, score, subject) for score in islice(waiting, _UNDER_WAY))
        while under_way:
            yield under_way.popleft().result()
            under_way.extend(_send(client, score, subject) for score in islice(waiting, 1))


def _send(client: Any, score: Path, subject: str | None) -> Any:
    with score.open("rb") as stream:
        data = stream.read(limits.FILE_BYTES + 1)
    return client.submit(answer, str(score), data, subject, pure=False, retries=_RETRIES)
