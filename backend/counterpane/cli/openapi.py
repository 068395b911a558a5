"""`counterpane openapi`: the API's document."""

from __future__ import annotations

import json

import click

from counterpane.web.app import openapi_document


@click.command("openapi")
def command() -> None:
    """Print the OpenAPI document of the studio's API, from which the page's types are made."""
    click.echo(json.dumps(openapi_document(), indent=2, sort_keys=True, ensure_ascii=False))
