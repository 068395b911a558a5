"""`counterpane reassess`: stored attempts heard again by the present listening engine."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click

from counterpane.studio.house import open_studio
from counterpane.studio.reassess import reassess


@click.command("reassess")
@click.option("--studio", required=True, type=click.Path(path_type=Path, dir_okay=False), help="The studio file.")
@click.option("--since", type=click.DateTime(["%Y-%m-%d"]), help="Only attempts from this day on.")
def command(studio: Path, since: datetime | None) -> None:
    """Hear the stored key events of every attempt again, where this version has not heard them yet.

    Earlier results stay beside the new ones. It may run while the studio is being served.
    """
    opened = open_studio(studio)
    try:
        found = reassess(opened, since.date() if since else None, datetime.now().astimezone(), _show)
    finally:
        opened.close()
    for attempt_id, reason in found.not_heard:
        click.echo(f"Attempt {attempt_id} could not be heard: {reason}", err=True)
    click.echo(json.dumps({"engine": found.engine, "heard": found.heard, "not_heard": len(found.not_heard)}))


def _show(done: int, everything: int) -> None:
    if everything and (done == everything or done % 100 == 0):
        click.echo(f"{done} of {everything} attempts", err=True)
