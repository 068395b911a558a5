"""`counterpane demo`: a studio to look round in, with invented students and original pieces."""

from __future__ import annotations

import importlib
import json
import shutil
import sys
import webbrowser
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType

import click
from platformdirs import user_data_path

from counterpane.cli.serve import serve_studio
from counterpane.resources import demo_folder
from counterpane.web.serving import address, free_port


@click.command()
@click.option(
    "--port", default=8420, show_default=True, help="Where to listen; when it is taken, another is chosen."
)
@click.option("--host", default="127.0.0.1", show_default=True, help="0.0.0.0 lets a phone on your network in.")
@click.option("--no-open", is_flag=True, help="Do not open a browser.")
@click.option("--fresh", is_flag=True, help="Throw the demo studio away and make a new one.")
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Where the demo studio is kept; your own data folder unless you say so.",
)
def command(port: int, host: str, no_open: bool, fresh: bool, folder: Path | None) -> None:
    """Open a demo studio: three invented students, three original pieces, some weeks of practice.

    Prints the addresses of a student, a parent and the teacher.
    """
    folder = folder or user_data_path("counterpane") / "demo"
    if fresh:
        shutil.rmtree(folder, ignore_errors=True)
    ways = _studio(folder)
    chosen = free_port(host, port)
    if chosen != port:
        click.echo(f"Port {port} is taken, so the demo is at port {chosen}.", err=True)
    base = address(host, chosen).rstrip("/")
    _tell(base, ways)
    if not no_open:
        webbrowser.open(base + next(iter(ways.values())))
    serve_studio(folder / "studio.sqlite", host, chosen)


def _studio(folder: Path) -> dict[str, str]:
    """Return the ways in of the demo studio in `folder`, which is made when it is not there."""
    ways = folder / "ways-in.json"
    if not ways.is_file():
        # What a broken-off first start left behind is made anew.
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        click.echo("Making the demo studio (about a minute, the first time only) …", err=True)
        made = _demo().seed(
            folder / "studio.sqlite", datetime.now(UTC), lambda text: click.echo(f"  {text}", err=True)
        )
        ways.write_text(json.dumps(made, ensure_ascii=False, indent=2), encoding="utf-8")
    found: dict[str, str] = json.loads(ways.read_text(encoding="utf-8"))
    return found


def _tell(base: str, ways: dict[str, str]) -> None:
    """Print one address each for a student, a parent and the teacher, then the other families'."""
    student, parent, *others = list(ways)
    demo = _demo()
    for who in (student, parent, demo.TEACHER):
        click.echo(f"{who}: {base}{ways[who]}")
    click.echo(f"The teacher's passphrase: {demo.PASSPHRASE}. The PIN for a second device: {demo.PIN}.")
    click.echo("Also in this studio:")
    for who in others:
        if who != demo.TEACHER:
            click.echo(f"  {who}: {base}{ways[who]}")


def _demo() -> ModuleType:
    """Import the demo, which lies beside the package in a checkout and inside it in a wheel."""
    parent = str(demo_folder().parent)
    if parent not in sys.path:
        sys.path.append(parent)
    return importlib.import_module("demo.studio")
