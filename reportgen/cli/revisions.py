"""Commands on other states of a project: an earlier revision, the one that an archive encloses."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from reportgen import __version__
from reportgen.cli.options import cache_option, folder_argument
from reportgen.cli.speaker import Speaker
from reportgen.service.exit_codes import ExitCode


@click.command()
@folder_argument
@click.argument("before", metavar="REV")
@click.argument("after", metavar="[REV]", required=False)
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "markdown", "json"]),
    default="text",
    show_default=True,
    help="Form of the comparison.",
)
@click.option("--energy", is_flag=True, help="Simulate both years as well.")
@cache_option
@click.pass_context
def diff(
    context: click.Context,
    folder: Path,
    before: str,
    after: str | None,
    form: str,
    energy: bool,
    no_cache: bool,
) -> None:
    """Compare the design of an earlier revision with the folder as it is, or with another revision.

    Example:  reportgen diff sample_project HEAD~1 --format markdown
    """
    from reportgen.binder import comparison as told
    from reportgen.service import differ
    from reportgen.service.folder_reader import take
    from reportgen.service.history import History, NoHistory

    try:
        history = History(folder)
        sides = [(name, history.snapshot(name)) for name in (before, after) if name is not None]
    except NoHistory as reason:
        click.echo(f"error: {reason}", err=True)
        context.exit(ExitCode.CANNOT_READ_OR_WRITE)
    if after is None:
        sides.append(("the folder", take(folder)))
    try:
        comparison = differ.compare(sides[0], sides[1], energy=energy, cached=not no_cache)
    except differ.StateRefused as state:
        Speaker(folder, "full", "auto").tell(
            state.refused.diagnostics, f"{state.name} is no project, nothing was compared", "", state.files
        )
        context.exit(ExitCode.INPUT_REFUSED)
    names = (sides[0][0], sides[1][0])
    if form == "json":
        click.echo(told.document(comparison, *names, f"reportgen {__version__}"), nl=False)
    else:
        click.echo((told.text if form == "text" else told.markdown)(comparison, *names), nl=False)
        if not energy:
            click.echo("years not compared; run with --energy", err=True)
    context.exit(differ.exit_code(comparison))


@click.command()
@click.argument("archive", metavar="PDF", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.pass_context
def unpack(context: click.Context, archive: Path, folder: Path) -> None:
    """Restore the project folder that a binder-archive.pdf encloses, and prove that it is the one it was made from.

    Example:  reportgen unpack binder-archive.pdf restored
    """
    from reportgen.service.unpack import UnpackRefused
    from reportgen.service.unpack import unpack as restore

    try:
        snapshot = restore(archive.read_bytes(), folder)
    except UnpackRefused as refused:
        click.echo(f"error: {refused}", err=True)
        context.exit(ExitCode.CANNOT_READ_OR_WRITE)
    count = len(snapshot.everything)
    click.echo(f"{count} files in {folder}, digest {snapshot.digest} as the binder says", err=True)


def earlier(
    context: click.Context, folder: Path, since: str | None
) -> tuple[str, Mapping[str, bytes]] | None:
    """Name and inputs of the revision to compare with; ends the command where there is no such thing."""
    if since is None:
        return None
    from reportgen.service.history import History, NoHistory

    try:
        return since, History(folder).snapshot(since).everything
    except NoHistory as reason:
        click.echo(f"error: {reason}", err=True)
        context.exit(ExitCode.CANNOT_READ_OR_WRITE)
