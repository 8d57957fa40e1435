"""Commands for whoever writes a folder; like those of the command line, they import what they need when they run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from reportgen.authoring.start import Answers
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
@click.option(
    "--id",
    "key",
    metavar="ID",
    help="Id of the copied type.  [default: the first free of M1, M2, … or H1, H2, …]",
)
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
    name = key or library.free_id(kind, _files(folder) if folder is not None else {})
    text = library.block(exact[0], name)
    if folder is None:
        click.echo(text, nl=False)
        return
    place = (
        "arrays name it as `module`" if kind == "module" else "write the installed devices under its `units`"
    )
    context.exit(_new_file(folder / f"{kind}-{name}.yaml", text, f"{kind} type {name}: {place}"))


#: Matches listed at once.
_MOST_SHOWN = 30


def _new_file(target: Path, text: str, words: str) -> int:
    from reportgen.authoring.schema import modeline

    if target.exists():
        click.echo(f"error: {target} is there already; move it away, or give another --id", err=True)
        return 5
    target.write_text(f"{modeline()}\n{text}", encoding="utf-8")
    click.echo(f"written to {target}; {words}", err=True)
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


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(file_okay=False, path_type=Path))
@click.option("--example", "name", metavar="NAME", help="Copy a worked example; `list` names them.")
@click.option("--units", type=click.Choice(["metric", "imperial"]), help="Units of comments and print-outs.")
@click.option("--place", help="Name of the place.")
@click.option("--latitude", help="Degrees, north positive; may stay empty.")
@click.option("--longitude", help="Degrees, east positive; may stay empty.")
@click.option("--arrays", help="What stands there, as NAME=ROWSxCOLUMNS, with commas between.")
@click.option("--inverters", help="Inverters and their inputs, as NAME=INPUTS, with commas between.")
@click.option("--pipe", help="Kind, trade size and length of the shared pipe.")
@click.option("--ask/--no-ask", default=None, help="Ask for what no option gives.  [default: on a terminal]")
@click.pass_context
def init(
    context: click.Context, /, folder: Path, name: str | None, ask: bool | None, **options: str | None
) -> None:
    """Start a project folder from a few answers, or from a worked example.

    Example:  reportgen init barn --arrays EAST=2x10 --inverters INV-1=2 --pipe "PVC-40 1-1/2 60 m"
    """
    from reportgen.authoring.start import EXAMPLES, BadAnswer, example, new_folder

    if name == "list":
        for key, words in EXAMPLES.items():
            click.echo(f"{key:<14}{words}")
        return
    if name is not None and name not in EXAMPLES:
        message = f"there is no example `{name}`; they are {', '.join(EXAMPLES)}"
        raise click.UsageError(message)
    if folder.exists() and any(folder.iterdir()):
        click.echo(
            f"error: {folder} is not empty, and nothing in it is overwritten; name a new folder", err=True
        )
        context.exit(5)
    try:
        files = example(name) if name else new_folder(_answers(options, ask))
    except BadAnswer as bad:
        raise click.UsageError(str(bad)) from bad
    _write_folder(folder, files)
    click.echo(f"{len(files)} files in {folder}; next: reportgen check {folder} --todo", err=True)


def _answers(options: dict[str, str | None], ask: bool | None) -> Answers:
    import sys

    from reportgen.authoring.start import Answers, arrays_of, degrees_of, inverters_of, pipe_of

    asking = sys.stdin.isatty() if ask is None else ask
    imperial = (
        options["units"] or _asked("Units of print-outs, metric or imperial", "metric", asking)
    ) == "imperial"

    def answer(key: str, question: str, default: str) -> str:
        given = options[key]
        return given if given is not None else _asked(question, default, asking)

    return Answers(
        answer("place", "Name of the place", "Home"),
        degrees_of(answer("latitude", "Latitude in degrees, north positive; Enter for later", "")),
        degrees_of(answer("longitude", "Longitude in degrees, east positive; Enter for later", "")),
        arrays_of(
            answer("arrays", "What stands there, as NAME=ROWSxCOLUMNS, with commas between", "EAST=2x10")
        ),
        inverters_of(answer("inverters", "Inverters and their inputs, as NAME=INPUTS", "INV-1=2")),
        pipe_of(
            answer(
                "pipe",
                "Shared pipe: kind, trade size, length",
                f"PVC-40 1-1/2 {'200 ft' if imperial else '60 m'}",
            )
        ),
        imperial,
    )


def _asked(question: str, default: str, asking: bool) -> str:
    return (
        str(click.prompt(question, default=default, show_default=bool(default), err=True))
        if asking
        else default
    )


def _write_folder(folder: Path, files: dict[str, str]) -> None:
    from reportgen.authoring.schema import write_schema

    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    write_schema(folder)


@click.group()
def table() -> None:
    """Take strings, circuits or readings out to a spreadsheet, and bring them back.

    Example:  reportgen table export sample_project strings
    """


_KIND = click.Choice(["strings", "circuits", "readings"])


@table.command("export")
@click.argument("folder", metavar="DIR", type=_FOLDER)
@click.argument("kind", type=_KIND)
@click.option(
    "--to",
    "target",
    type=click.Path(dir_okay=False, path_type=Path),
    help="File to write.  [default: standard output]",
)
@click.pass_context
def table_export(context: click.Context, folder: Path, kind: str, target: Path | None) -> None:
    """Write a section of DIR as a table with units in the heads.

    Example:  reportgen table export sample_project circuits --to circuits.csv
    """
    from reportgen.authoring.tables import export
    from reportgen.diagnostics.model import InputRefused, Sink

    files = _files(folder)
    try:
        text = export(kind, files)
    except InputRefused as refused:
        _tell(folder, Sink(refused.diagnostics), files)
        context.exit(4)
    if target is None:
        click.echo(text, nl=False)
    else:
        target.write_text(text, encoding="utf-8", newline="")
        click.echo(f"written to {target}", err=True)


@table.command("import")
@click.argument("folder", metavar="DIR", type=_FOLDER)
@click.argument("kind", type=_KIND)
@click.argument("source", metavar="FILE", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.pass_context
def table_import(context: click.Context, folder: Path, kind: str, source: Path) -> None:
    """Put a table in the place of a section of DIR; nothing is written unless the whole folder can be read with it.

    Example:  reportgen table import barn circuits circuits.csv
    """
    from reportgen.authoring.tables import bring_in
    from reportgen.diagnostics.model import InputRefused, Sink

    files = _files(folder)
    data = source.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        click.echo(f"error: {source} is not UTF-8; save the table as CSV UTF-8", err=True)
        context.exit(4)
    try:
        made = bring_in(kind, source.name, text, files)
    except InputRefused as refused:
        _tell(folder, Sink(refused.diagnostics), {**files, source.name: data})
        click.echo("nothing was written", err=True)
        context.exit(4)
    for name, content in made.files.items():
        if content.strip():
            (folder / name).write_text(content, encoding="utf-8", newline="")
            click.echo(f"{kind} written to {folder / name}", err=True)
        else:
            (folder / name).unlink()
            click.echo(f"{folder / name} held nothing else and was removed", err=True)
    for note in made.notes:
        click.echo(f"note: {note}", err=True)


def _files(folder: Path) -> dict[str, bytes]:
    """Bytes of a folder as a build would take them."""
    from reportgen.service.folder_reader import take

    return dict(take(folder).files)


@click.command()
@click.argument("page", required=False)
@click.option("--serve", is_flag=True, help="Show the pages in a browser on this machine, until Ctrl-C.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, help="Port for --serve.  [default: a free one]"
)
@click.pass_context
def guide(context: click.Context, page: str | None, serve: bool, port: int) -> None:
    """Read the guide: first hour, the folder with every key, findings, hand-over, how the numbers are made.

    Example:  reportgen guide first-hour
    """
    from reportgen.authoring import guide as pages
    from reportgen.diagnostics.nearest import nearest

    if serve:
        pages.serve(port, lambda address: click.echo(f"guide at {address}", err=True))
        return
    if page is None:
        click.echo(pages.contents())
        return
    try:
        text = pages.page(page)
    except pages.NoPage:
        meant = nearest(page, pages.PAGES)
        click.echo(
            f"error: the guide has no page `{page}`" + (f"; did you mean `{meant}`?" if meant else ""),
            err=True,
        )
        context.exit(2)
    _read_out(text)


def _read_out(text: str) -> None:
    """Show a page as text, set for reading where there is a terminal."""
    import sys

    if not sys.stdout.isatty():
        click.echo(text, nl=False)
        return
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console()
    with console.pager(styles=True):
        console.print(Markdown(text))


COMMANDS: tuple[click.Command, ...] = (init, find, table, schema, guide)
