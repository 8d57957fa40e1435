"""Commands for whoever writes a folder; like those of the command line, they import what they need when they run."""

from __future__ import annotations

from pathlib import Path

import click

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


COMMANDS: tuple[click.Command, ...] = (schema,)
