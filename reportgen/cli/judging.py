"""Commands that judge and explain without building: a design, ways to string it, a published binder, a code."""

from __future__ import annotations

import shutil
from pathlib import Path

import click

from reportgen.cli.options import folder_argument, message_options
from reportgen.cli.speaker import Speaker
from reportgen.service.exit_codes import ExitCode


@click.command()
@folder_argument
@click.option("--strict", is_flag=True, help="Exit with 1 also for thin, unknown and ask.")
@click.option("--all", "everything", is_flag=True, help="Show what meets as well.")
@click.option(
    "--todo", is_flag=True, help="List what is still to be stated for a check, each thing once, instead."
)
@click.option(
    "--staged", is_flag=True, help="Check what git would commit instead of what lies in the folder."
)
@message_options
@click.pass_context
def check(
    context: click.Context,
    folder: Path,
    strict: bool,
    everything: bool,
    todo: bool,
    staged: bool,
    form: str,
    color: str,
) -> None:
    """Check a design without energy and pages.

    Example:  reportgen check sample_project --all
    """
    from reportgen.design.findings import Outcome
    from reportgen.diagnostics.model import InputRefused
    from reportgen.service.build import check as check_snapshot
    from reportgen.service.build import exit_code, summary
    from reportgen.service.folder_reader import take

    speaker = Speaker(folder, form, color)
    if staged:
        from reportgen.service.history import History, NoHistory

        try:
            snapshot = History(folder).staged()
        except NoHistory as reason:
            click.echo(f"error: {reason}", err=True)
            context.exit(ExitCode.CANNOT_READ_OR_WRITE)
    else:
        snapshot = take(folder)
    try:
        design = check_snapshot(snapshot)
    except InputRefused as refused:
        speaker.tell(refused.diagnostics, "nothing was checked", "", snapshot.everything)
        context.exit(ExitCode.INPUT_REFUSED)
    if todo:
        from reportgen.authoring.todo import left_to_a_build, still_open
        from reportgen.diagnostics.text import visible

        for item in still_open(design.findings):
            click.echo(visible(f"{speaker.prefix}{item.line}" if item.place else item.line))
        click.echo(visible(left_to_a_build(design.findings)), err=True)
        click.echo(summary(design), err=True)
        context.exit(exit_code(design, strict=strict))
    shown = [finding for finding in design.findings if everything or finding.outcome is not Outcome.MEETS]
    speaker.tell([finding.diagnostic() for finding in shown], "", summary(design), snapshot.everything)
    context.exit(exit_code(design, strict=strict))


@click.command()
@folder_argument
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Form of the answer.",
)
@click.pass_context
def strings(context: click.Context, folder: Path, form: str) -> None:
    """Propose how to cut the arrays into strings and which inputs take them.

    Modules, arrays, inverters and the temperatures of the site are enough; no string has to be written yet.

    Example:  reportgen strings sample_project
    """
    from reportgen.authoring.ways import ways_document, ways_text
    from reportgen.diagnostics.model import InputRefused
    from reportgen.service.build import check as check_snapshot
    from reportgen.service.build import with_energy
    from reportgen.service.folder_reader import take

    snapshot = take(folder)
    try:
        design = check_snapshot(snapshot)
        if any(array.lower_rows is not None for array in design.project.arrays.values()):
            # Only a comparison in kWh wants the hours of a year.
            design, _ = with_energy(design, snapshot, cached=True, sun=False)
    except InputRefused as refused:
        form = "json" if form == "json" else "full"
        Speaker(folder, form, "auto").tell(
            refused.diagnostics, "nothing was searched", "", snapshot.everything
        )
        context.exit(ExitCode.INPUT_REFUSED)
    found = design.stringing
    width = shutil.get_terminal_size().columns
    told = (
        ways_document(found, design.rows)
        if form == "json"
        else ways_text(found, design.facts.graph, width, design.rows)
    )
    click.echo(told, nl=False)
    context.exit(0 if found.ways else ExitCode.FAILS_A_CHECK)


@click.command()
@folder_argument
@message_options
@click.pass_context
def verify(context: click.Context, folder: Path, form: str, color: str) -> None:
    """Prove that a published binder is whole and untouched; DIR is the project or the binder folder.

    Example:  reportgen verify sample_project
    """
    from reportgen.service.manifest import MANIFEST
    from reportgen.service.manifest import verify as verify_folder

    target = folder if (folder / MANIFEST).exists() else folder / "binder"
    found = verify_folder(target)
    words = "the binder is not as it was built" if found else "the binder is as it was built"
    Speaker(target, form, color).tell(found, words, "", {})
    context.exit(ExitCode.CANNOT_READ_OR_WRITE if found else ExitCode.DONE)


@click.command()
@click.argument("code", required=False)
@click.option("--list", "listing", is_flag=True, help="List every code.")
@click.pass_context
def explain(context: click.Context, code: str | None, listing: bool) -> None:
    """Explain a code of a message or finding: what, why, how to cure it.

    Example:  reportgen explain ampacity-use
    """
    from reportgen.diagnostics.catalogue import CATALOGUE, UnknownCode
    from reportgen.diagnostics.catalogue import explain as page

    if listing:
        width = max(map(len, CATALOGUE))
        for key, entry in sorted(CATALOGUE.items()):
            click.echo(f"{key:<{width}}  {entry.title}")
        return
    if code is None:
        message = "give a code, or --list for all of them"
        raise click.UsageError(message)
    try:
        click.echo(page(code))
    except UnknownCode as unknown:
        click.echo(f"error: {unknown}", err=True)
        context.exit(ExitCode.USAGE)
    if CATALOGUE[code].kind == "finding":
        from reportgen.authoring.shown import shown_in_example

        if shown := shown_in_example(code):
            click.echo(f"\n{shown}")
