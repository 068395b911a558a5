"""The commands: one file each, named as the command is; each file holds a click command called `command`."""

from __future__ import annotations

import importlib
import pkgutil
import sys

import click

from counterpane import __version__
from counterpane.errors import CounterpaneError


class _CommandFolder(click.Group):
    """Finds commands by file name and imports only the one that is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click gives the context
        return sorted(module.name for module in pkgutil.iter_modules(__path__) if not module.name.startswith("_"))

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.list_commands(ctx):
            return None
        command = importlib.import_module(f"counterpane.cli.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command


@click.command(cls=_CommandFolder, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
def commands() -> None:
    """From a two-part score to graded drills, attentive listening and a practice log."""


def main() -> None:
    """Run a command; bad input ends with one sentence on standard error and exit code 2."""
    try:
        commands(standalone_mode=False)
    except CounterpaneError as error:
        click.echo(str(error), err=True)
        sys.exit(2)
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped.", err=True)
        sys.exit(130)
