"""`counterpane serve`: the studio in the browser."""

from __future__ import annotations

from pathlib import Path

import click

from counterpane.studio.live_keys import MOST_STREAMS
from counterpane.web.serving import serve

THREADS = MOST_STREAMS + 8


@click.command("serve")
@click.option("--studio", required=True, type=click.Path(path_type=Path, dir_okay=False), help="The studio file.")
@click.option("--host", default="127.0.0.1", show_default=True, help="0.0.0.0 to be reached from other devices.")
@click.option(
    "--port", default=8000, show_default=True, type=click.IntRange(0, 65535), help="0 takes any free one."
)
@click.option("--next-port", is_flag=True, help="When the port is taken, take the next free one and say so.")
@click.option(
    "--threads", default=THREADS, show_default=True, type=click.IntRange(4, 200), help="Requests at once."
)
@click.option("--behind-proxy", is_flag=True, help="Trust the X-Forwarded headers of one proxy in front.")
def command(studio: Path, host: str, port: int, next_port: bool, threads: int, behind_proxy: bool) -> None:
    """Serve a studio until Ctrl-C. Make one first with `counterpane studio create FILE`.

    Pages that should work without network or use a MIDI keyboard need https, or the address 127.0.0.1: for other
    devices put a proxy with a certificate in front.
    """
    serve_studio(studio, host, port, next_port=next_port, threads=threads, behind_proxy=behind_proxy)


def serve_studio(
    studio: Path,
    host: str,
    port: int,
    *,
    next_port: bool = False,
    threads: int = THREADS,
    behind_proxy: bool = False,
) -> None:
    """Serve a studio until Ctrl-C, telling on standard error where it is open."""
    serve(
        studio,
        host,
        port,
        next_port=next_port,
        threads=threads,
        behind_proxy=behind_proxy,
        say=lambda sentence: click.echo(sentence, err=True),
    )
