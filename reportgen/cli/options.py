"""Arguments and options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

_FORMATS = click.Choice(["full", "concise", "json", "sarif", "github"])


def folder_argument(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the project folder."""
    kind = click.Path(exists=True, file_okay=False, path_type=Path)
    return click.argument("folder", metavar="DIR", type=kind)(command)


def cache_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command keep nothing."""
    return click.option("--no-cache", is_flag=True, help="Keep nothing from one build to the next.")(command)


def since_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command compare with an earlier revision."""
    words = "Add a chapter on what changed since this revision."
    return click.option("--since", metavar="REV", help=words)(command)


def message_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command say its messages in another form, and with or without colour."""
    command = click.option(
        "--color",
        type=click.Choice(["auto", "always", "never"]),
        default="auto",
        show_default=True,
        help="Colour in messages; NO_COLOR is respected.",
    )(command)
    return click.option(
        "--format", "form", type=_FORMATS, default="full", show_default=True, help="Form of the messages."
    )(command)
