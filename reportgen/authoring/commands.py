"""Commands for whoever writes a folder; like those of the command line, they import what they need when they run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from reportgen.diagnostics.model import Sink

_FOLDER = click.Path(exists=True, file_okay=False, path_type=Path)


@click.command()
@click.option("--units", is_flag=True, help="Print the units and spellings of every quantity instead.")
@click.option(
    "--into", "folder", type=_FOLDER, metavar="DIR", help="Write it where the files of DIR look for it."
)
def schema(units: bool, folder: Path | None) -> None:
    """Print the JSON Schema of project files, for editors that complete and check them.

    Example:  reportgen schema --into sample_project
    """
    if units:
        from reportgen.authoring.units import units_text

        click.echo(units_text())
        return
    from reportgen.authoring.schema import modeline, schema_text, write_schema

    if folder is None:
        click.echo(schema_text(), nl=False)
        return
    click.echo(f"written to {write_schema(folder)}; first line of each file: {modeline()}", err=True)


@click.command()
@click.argument("kind", type=click.Choice(["module", "inverter"]), required=False)
@click.argument("words", metavar="WORD", nargs=-1)
@click.option("--into", "folder", type=_FOLDER, metavar="DIR", help="Copy the one match into a file of DIR.")
@click.option("--id", "key", metavar="ID", help="Id of the copied type.  [default: M1 or H1]")
@click.option(
    "--fill",
    type=_FOLDER,
    metavar="DIR",
    help="Copy the values of every `library: NAME` in DIR to its place.",
)
@click.pass_context
def find(
    context: click.Context,
    kind: str | None,
    words: tuple[str, ...],
    folder: Path | None,
    key: str | None,
    fill: Path | None,
) -> None:
    """Search modules and inverters in the library inside pvlib, and copy their values.

    Example:  reportgen find module 72 mono 300
    """
    from reportgen.authoring import library

    if fill is not None:
        context.exit(_fill(fill))
    if kind is None or not words:
        message = "say what to look for: `reportgen find module WORD…` or `reportgen find inverter WORD…`"
        raise click.UsageError(message)
    found = library.search(kind, words)
    if not found:
        near = library.nearly(kind, words)
        listed = "".join(f"\n  {entry.line}" for entry in near)
        click.echo(
            f"no {kind} has all these words in its name{'; nearest:' if near else ''}{listed}", err=True
        )
        context.exit(1)
    exact = [entry for entry in found if library.is_named(entry, " ".join(words))] or found
    if len(exact) > 1:
        for entry in found[:_MOST_SHOWN]:
            click.echo(entry.line)
        rest = f", {len(found) - _MOST_SHOWN} more not shown" if len(found) > _MOST_SHOWN else ""
        click.echo(f"{len(found)} found{rest}; add words until one is left", err=True)
        context.exit(1 if folder is not None else 0)
    name = key or ("M1" if kind == "module" else "H1")
    text = library.block(exact[0], name)
    if folder is None:
        click.echo(text, nl=False)
        return
    context.exit(_new_file(folder / f"{kind}-{name}.yaml", text))


#: Matches listed at once.
_MOST_SHOWN = 30


def _new_file(target: Path, text: str) -> int:
    from reportgen.authoring.schema import modeline

    if target.exists():
        click.echo(f"error: {target} is there already; move it away, or give another --id", err=True)
        return 5
    target.write_text(f"{modeline()}\n{text}", encoding="utf-8")
    click.echo(f"written to {target}; see `reportgen check {target.parent}`", err=True)
    return 0


def _fill(folder: Path) -> int:
    from reportgen.authoring.library import Filled, fill
    from reportgen.diagnostics.model import Sink

    sink = Sink()
    names = [
        path
        for path in sorted(folder.rglob("*.y*ml"))
        if not path.relative_to(folder).parts[0].startswith(".")
    ]
    files = {path.relative_to(folder).as_posix(): path.read_bytes() for path in names}
    made: dict[str, Filled] = {}
    for name, data in files.items():
        filled = fill(name, data, sink)
        if filled is not None:
            made[name] = filled
    if sink.items:
        _tell(folder, sink, files)
        return 4
    for name, filled in made.items():
        (folder / name).write_text(filled.text, encoding="utf-8", newline="")
        for key, entry in filled.copied:
            click.echo(f"{folder / name}: {entry.kind} {key} from {entry.source}", err=True)
            needs = ", ".join(need.key for need in entry.needed)
            click.echo(f"  still to be looked up: {needs}", err=True)
    if not made:
        click.echo("no `library` key to fill in", err=True)
    return 0


def _tell(folder: Path, sink: Sink, files: dict[str, bytes]) -> None:
    import os
    import sys

    from reportgen.diagnostics.text import excerpts, render, use_color

    color = use_color("auto", os.environ, sys.stderr.isatty())
    told = render(sink.sorted(), excerpts(files), color=color, prefix=f"{str(folder).rstrip('/')}/")
    click.echo(told, err=True, color=color)


COMMANDS: tuple[click.Command, ...] = (schema, find)
