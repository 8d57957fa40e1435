"""How commands talk: messages in the form asked for, events of a watcher, the stage that runs."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from reportgen import __version__

if TYPE_CHECKING:
    from reportgen.diagnostics.model import Diagnostic
    from reportgen.service.events import WatchEvent

DOCUMENTS = frozenset({"json", "sarif", "github"})


class Speaker:
    """Tells messages in the form asked for: people on standard error, documents on standard output."""

    def __init__(self, folder: Path, form: str, color: str) -> None:
        from reportgen.diagnostics.text import use_color

        self.prefix = "" if str(folder) == "." else f"{str(folder).rstrip('/')}/"
        self.form = form
        self.color = use_color(color, os.environ, sys.stderr.isatty())

    def tell(
        self, diagnostics: Sequence[Diagnostic], words: str, summary: str, files: Mapping[str, bytes]
    ) -> None:
        """Messages, then one line on what came of it."""
        if self.form in DOCUMENTS:
            click.echo(self.document(diagnostics), nl=False)
            return
        from reportgen.diagnostics.text import excerpts, render
        from reportgen.diagnostics.text import summary as counted

        if diagnostics:
            told = render(
                diagnostics,
                excerpts(files),
                form=self.form,
                color=self.color,
                prefix=self.prefix,
                width=self.width,
            )
            click.echo(told, err=True, color=self.color)
            click.echo(err=True)
            summary = summary or counted(diagnostics, len(files) or None)
        line = "; ".join(part for part in (summary, words) if part)
        if line:
            click.echo(line, err=True)

    def document(self, diagnostics: Sequence[Diagnostic]) -> str:
        """The messages as one document for machines."""
        if self.form == "sarif":
            from reportgen.diagnostics.catalogue import CATALOGUE
            from reportgen.diagnostics.sarif import sarif

            return sarif(diagnostics, CATALOGUE, "reportgen", __version__, self.prefix)
        if self.form == "github":
            from reportgen.diagnostics.github import github

            return github(diagnostics, self.prefix)
        from reportgen.diagnostics.json import document

        return document(diagnostics, "reportgen", __version__)

    @property
    def width(self) -> int:
        """Columns to fill: the terminal's, or 100 where there is none."""
        return shutil.get_terminal_size((100, 24)).columns

    def event(self, event: WatchEvent) -> None:
        """One line for each thing that happened while watching."""
        from reportgen.diagnostics.text import visible
        from reportgen.service.events import ENDINGS, EventKind

        told = event.kind in ENDINGS or event.kind is EventKind.PAGES
        changed = ", ".join([*event.changes.added, *event.changes.changed, *event.changes.removed][:4])
        took = f" in {event.seconds:.1f} s" if event.seconds is not None else ""
        gained = [f"  + {item.id}: {item.after}" for item in event.gained]
        lost = [f"  - {item.id}: was {item.before}" for item in event.lost]
        what = f" ({changed})" if changed and told else ""
        stale = (
            "; the binder on disk is older than the inputs" if event.stale and event.kind in ENDINGS else ""
        )
        said = f": {event.message}" if event.message != event.kind else ""
        for line in (f"{event.kind}{said}{what}{took}{stale}", *gained, *lost):
            click.echo(visible(line), err=True)
        if event.kind in ENDINGS and event.diagnostics:
            self.tell(event.diagnostics, "", "", event.files)
        if event.detail:
            # What a process printed: its lines stay lines.
            click.echo("\n".join(map(visible, event.detail.split("\n"))), err=True)


@contextmanager
def running_stage(form: str) -> Iterator[Callable[[str], None]]:
    """Show the running stage on a terminal; silent for documents, one word a stage where there is no terminal."""
    if form in DOCUMENTS:
        yield lambda stage: None
        return
    if not sys.stderr.isatty():
        yield lambda stage: click.echo(f"{stage} …", err=True)
        return
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("read")
        yield lambda stage: progress.update(task, description=stage)
