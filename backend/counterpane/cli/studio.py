"""`counterpane studio`: make a studio file, and what its keeper does from the command line."""

from __future__ import annotations

import json
import os
import sys
from datetime import datetime
from pathlib import Path

import click

from counterpane.errors import CounterpaneError
from counterpane.studio import house

PASSPHRASE_VARIABLE = "COUNTERPANE_PASSPHRASE"  # noqa: S105 - the name of a variable, not its value


@click.group("studio")
def command() -> None:
    """Make a studio file, or change the teacher's passphrase."""


@command.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--name", default="My studio", show_default=True, help="What students and parents see.")
def create(file: Path, name: str) -> None:
    """Make a new studio in FILE.

    The teacher's passphrase is read from the variable COUNTERPANE_PASSPHRASE, else from standard input, else
    asked for.
    """
    studio = house.create_studio(file, name, read_passphrase(), datetime.now().astimezone())
    studio.close()
    click.echo(json.dumps({"studio": str(file), "name": name}))
    click.echo(f"The studio is ready. Open it with: counterpane serve --studio {file}", err=True)


@command.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def passphrase(file: Path) -> None:
    """Give the studio in FILE a new teacher's passphrase; the teacher is signed out everywhere."""
    studio = house.open_studio(file)
    try:
        house.change_passphrase(studio, read_passphrase())
    finally:
        studio.close()
    click.echo("The passphrase is changed.", err=True)


def read_passphrase() -> str:
    """Return the teacher's passphrase from the environment, standard input or the keyboard."""
    given = os.environ.get(PASSPHRASE_VARIABLE)
    if given is not None:
        return given
    if not sys.stdin.isatty():
        line = sys.stdin.readline().rstrip("\r\n")
        if not line:
            raise CounterpaneError(
                f"No passphrase was given: set {PASSPHRASE_VARIABLE}, or write it on standard input."
            )
        return line
    return str(click.prompt("Teacher's passphrase", hide_input=True, confirmation_prompt=True, err=True))
