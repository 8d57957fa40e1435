"""The command line: options, words and exit codes; every heavy import stands inside the command that needs it.

Results go to standard output, everything for people to standard error. Results of ``--format json`` are one
document and nothing else.
"""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from reportgen import __version__
from reportgen.authoring.commands import COMMANDS
from reportgen.service.exit_codes import ExitCode

if TYPE_CHECKING:
    import threading

    from reportgen.diagnostics.model import Diagnostic
    from reportgen.service.ahead import Lent
    from reportgen.service.batch import Record
    from reportgen.service.events import WatchEvent

_FORMATS = click.Choice(["full", "concise", "json", "sarif", "github"])
_DOCUMENTS = frozenset({"json", "sarif", "github"})
_CONTEXT = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


def main() -> NoReturn:
    """Run the command line; a defect ends with exit code 70 and a plain word, not with a bare traceback."""
    try:
        code = cli.main(standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message(), err=True)
        code = ExitCode.USAGE
    except click.ClickException as error:
        error.show()
        code = error.exit_code
    except click.exceptions.Exit as error:
        code = error.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted", err=True)
        code = ExitCode.INTERRUPTED
    except BrokenPipeError:
        # Whoever read the output has gone; nothing more can be said to them.
        sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115 - keeps the interpreter from complaining at its end
        code = ExitCode.CANNOT_READ_OR_WRITE
    except OSError as error:
        click.echo(f"error: {error.strerror or error}: {error.filename or ''}".rstrip(": "), err=True)
        code = ExitCode.CANNOT_READ_OR_WRITE
    except Exception:  # noqa: BLE001 - the last line of defence
        import traceback

        traceback.print_exc()
        click.echo("error: this is a defect in reportgen; nothing was published", err=True)
        code = ExitCode.DEFECT
    sys.exit(int(code or 0))


@click.group(context_settings=_CONTEXT, no_args_is_help=True)
@click.version_option(__version__, prog_name="reportgen")
def cli() -> None:
    """Design binders for photovoltaic restringing, from a folder of text files.

    Start with:  reportgen init barn    or read:  reportgen guide first-hour
    """


for _command in COMMANDS:
    cli.add_command(_command)


def _folder(command: Callable[..., Any]) -> Callable[..., Any]:
    kind = click.Path(exists=True, file_okay=False, path_type=Path)
    return click.argument("folder", metavar="DIR", type=kind)(command)


def _keeping(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option("--no-cache", is_flag=True, help="Keep nothing from one build to the next.")(command)


def _comparing(command: Callable[..., Any]) -> Callable[..., Any]:
    words = "Add a chapter on what changed since this revision."
    return click.option("--since", metavar="REV", help=words)(command)


def _messages(command: Callable[..., Any]) -> Callable[..., Any]:
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


@cli.command()
@_folder
@click.option(
    "--output", type=click.Path(path_type=Path), help="Folder to publish to.  [default: DIR/binder]"
)
@click.option("--no-pdf", is_flag=True, help="Write HTML, JSON and CSV only.")
@click.option("--strict", is_flag=True, help="Exit with 1 also for thin, unknown and ask.")
@click.option("--archive", is_flag=True, help="Write binder-archive.pdf too, with the inputs enclosed.")
@click.option(
    "--extract",
    type=click.Choice(["review"]),
    help="Write binder-review.html and .pdf too: a few sheets for a reviewer, with a column to tick.",
)
@_comparing
@_keeping
@_messages
@click.pass_context
def build(
    context: click.Context,
    folder: Path,
    output: Path | None,
    no_pdf: bool,
    strict: bool,
    archive: bool,
    extract: str | None,
    since: str | None,
    no_cache: bool,
    form: str,
    color: str,
) -> None:
    """Build the whole binder of a project folder.

    Example:  reportgen build sample_project
    """
    from reportgen.service.build import BuildOptions
    from reportgen.service.once import build_once

    target = output or folder / "binder"
    speaker = _Speaker(folder, form, color)
    options = BuildOptions(
        not no_pdf,
        strict,
        not no_cache,
        since=_earlier(context, folder, since),
        archive=archive,
        extract=extract or "",
    )
    _refresh_schema(folder)
    with _progress(form) as stage:
        outcome = build_once(folder, target, options, stage)
    words = (
        f"binder written to {target}"
        if outcome.published
        else "binder not written, the last one is as it was"
    )
    speaker.tell(outcome.diagnostics, words, outcome.summary, outcome.files)
    context.exit(outcome.exit_code)


@cli.command()
@_folder
@click.option("--strict", is_flag=True, help="Exit with 1 also for thin, unknown and ask.")
@click.option("--all", "everything", is_flag=True, help="Show what meets as well.")
@click.option("--todo", is_flag=True, help="List what is still to be stated, each thing once, instead.")
@click.option(
    "--staged", is_flag=True, help="Check what git would commit instead of what lies in the folder."
)
@_messages
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

    speaker = _Speaker(folder, form, color)
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
        from reportgen.authoring.todo import still_open

        for item in still_open(design.findings):
            click.echo(f"{speaker.prefix}{item.line}" if item.place else item.line)
        click.echo(summary(design), err=True)
        context.exit(exit_code(design, strict=strict))
    shown = [finding for finding in design.findings if everything or finding.outcome is not Outcome.MEETS]
    speaker.tell([finding.diagnostic() for finding in shown], "", summary(design), snapshot.everything)
    context.exit(exit_code(design, strict=strict))


@cli.command()
@_folder
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
        _Speaker(folder, form, "auto").tell(
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


@cli.command()
@_folder
@click.option(
    "--output", type=click.Path(path_type=Path), help="Folder to publish to.  [default: DIR/binder]"
)
@click.option("--no-pdf", is_flag=True, help="Write HTML, JSON and CSV only.")
@click.option("--serve", is_flag=True, help="Show the binder in a browser on this machine, and follow it.")
@click.option("--port", type=click.IntRange(0, 65535), help="Port for --serve.  [default: a free one]")
@click.option("--print-unit", is_flag=True, help="Print a systemd unit that keeps this watcher running.")
@click.option(
    "--stop-after", type=click.IntRange(min=1), help="End after so many builds; for scripts and tests."
)
@_comparing
@_keeping
@_messages
@click.pass_context
def watch(
    context: click.Context,
    folder: Path,
    output: Path | None,
    no_pdf: bool,
    serve: bool,
    port: int | None,
    print_unit: bool,
    stop_after: int | None,
    since: str | None,
    no_cache: bool,
    form: str,
    color: str,
) -> None:
    """Watch a project folder and build again on every change.

    Example:  reportgen watch sample_project --serve
    """
    from reportgen.service.ahead import Lent
    from reportgen.service.build import BuildOptions, recipe
    from reportgen.service.lock import AlreadyWatched
    from reportgen.service.publish import PublishRefused
    from reportgen.service.supervisor import Supervisor, unit_file
    from reportgen.service.watch import watch as run_watch

    speaker = _Speaker(folder, form, color)
    target = output or folder / "binder"
    if port is not None and not serve:
        message = "--port says where --serve listens; give both"
        raise click.UsageError(message)
    if print_unit:
        options = (
            *(["--no-pdf"] if no_pdf else []),
            *(["--serve", "--port", str(port)] if serve and port else []),
        )
        click.echo(unit_file(folder, target, options), nl=False)
        return
    wanted = BuildOptions(not no_pdf, cache=not no_cache, since=_earlier(context, folder, since))
    _refresh_schema(folder)
    lent = Lent()
    try:
        with _preview(target, port, speaker, lent) if serve else nullcontext():
            code = run_watch(
                folder,
                target,
                recipe(wanted, folder),
                speaker.event,
                stop_after=stop_after,
                supervisor=Supervisor(os.environ),
                lent=lent,
            )
    except AlreadyWatched as held:
        click.echo(f"error: {held}", err=True)
        context.exit(held.exit_code)
    except PublishRefused as refused:
        speaker.tell([refused.diagnostic], "nothing is watched", "", {})
        context.exit(ExitCode.CANNOT_READ_OR_WRITE)
    context.exit(code)


@cli.command()
@click.argument(
    "folders",
    metavar="DIR...",
    nargs=-1,
    required=True,
    type=click.Path(file_okay=False, path_type=Path),
)
@click.option("--jobs", type=click.IntRange(min=1), help="Builds at a time.  [default: one a core]")
@click.option(
    "--results",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Append one line of JSON a folder; what it holds already is not built again.",
)
@click.option("--scheduler", metavar="ADDRESS", help="Build on the Dask cluster of this scheduler.")
@click.option("--time-limit", type=click.FloatRange(min=1), default=600.0, help="Longest build.  [s]")
@click.option("--no-pdf", is_flag=True, help="Write HTML, JSON and CSV only.")
@click.option("--strict", is_flag=True, help="Exit with 1 also for thin, unknown and ask.")
@_keeping
@click.pass_context
def batch(
    context: click.Context,
    folders: tuple[Path, ...],
    jobs: int | None,
    results: Path | None,
    scheduler: str | None,
    time_limit: float,
    no_pdf: bool,
    strict: bool,
    no_cache: bool,
) -> None:
    """Build many project folders, each into its own binder; one that is bad does not stop the rest.

    Example:  reportgen batch projects/* --results results.jsonl
    """
    import threading

    from reportgen.service import batch as many
    from reportgen.service.build import BuildOptions
    from reportgen.service.cluster import ClusterMissing, ClusterRunner

    stop = threading.Event()
    runner: many.LocalRunner | ClusterRunner
    if scheduler is None:
        runner = many.LocalRunner(time_limit)
        width = len(os.sched_getaffinity(0))
    else:
        try:
            runner = ClusterRunner(scheduler, time_limit)
        except ClusterMissing as missing:
            click.echo(f"error: {missing}", err=True)
            context.exit(ExitCode.CANNOT_READ_OR_WRITE)
        width = 2 * runner.width  # one builds while the next is on its way
    with _stopping(stop), _counted(len(set(folders))) as tell:
        records = many.batch(
            folders,
            runner,
            BuildOptions(not no_pdf, strict, cache=not no_cache and scheduler is None),
            jobs=jobs or width,
            results=results,
            on_record=tell,
            stop=stop,
        )
    told = ", ".join(f"{number} {came}" for came, number in many.counts(records).items())
    left = len({folder.resolve() for folder in folders}) - len(records)
    click.echo("; ".join(filter(None, (told, f"{left} not begun or cut short" if left else ""))), err=True)
    context.exit(ExitCode.INTERRUPTED if stop.is_set() else many.exit_code(records))


@cli.command()
@_folder
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
@_keeping
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
        _Speaker(folder, "full", "auto").tell(
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


@cli.command()
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


@cli.command()
@_folder
@_messages
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
    _Speaker(target, form, color).tell(found, words, "", {})
    context.exit(ExitCode.CANNOT_READ_OR_WRITE if found else ExitCode.DONE)


@cli.command()
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


def _refresh_schema(folder: Path) -> None:
    """Bring the schema that editors read up to this version, where a folder looks for one."""
    from contextlib import suppress

    from reportgen.authoring.schema import refresh_schema

    with suppress(OSError):  # a folder that cannot be read or written to is told by the build itself
        refresh_schema(folder)


class _Speaker:
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
        if self.form in _DOCUMENTS:
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
        from reportgen.service.events import ENDINGS, EventKind

        told = event.kind in ENDINGS or event.kind is EventKind.PAGES
        changed = ", ".join([*event.changes.added, *event.changes.changed, *event.changes.removed][:4])
        took = f" in {event.seconds:.1f} s" if event.seconds is not None else ""
        gained = "".join(f"\n  + {item.id}: {item.after}" for item in event.gained)
        lost = "".join(f"\n  - {item.id}: was {item.before}" for item in event.lost)
        what = f" ({changed})" if changed and told else ""
        stale = (
            "; the binder on disk is older than the inputs" if event.stale and event.kind in ENDINGS else ""
        )
        said = f": {event.message}" if event.message != event.kind else ""
        click.echo(f"{event.kind}{said}{what}{took}{stale}{gained}{lost}", err=True)
        if event.kind in ENDINGS and event.diagnostics:
            self.tell(event.diagnostics, "", "", event.files)
        if event.detail:
            click.echo(event.detail, err=True)


def _earlier(
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


@contextmanager
def _stopping(stop: threading.Event) -> Iterator[None]:
    """Set the event on the first Ctrl-C or SIGTERM, so that results are kept; the second ends at once."""
    import signal

    def answer(number: int, _frame: object) -> None:
        if stop.is_set():
            os._exit(ExitCode.INTERRUPTED)
        stop.set()

    before = {number: signal.signal(number, answer) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextmanager
def _counted(total: int) -> Iterator[Callable[[Record, bool], None]]:
    """One line a folder on standard error, numbered."""
    number = 0

    def tell(record: Record, again: bool) -> None:
        nonlocal number
        number += 1
        took = "as recorded" if again else f"{record.seconds:.1f} s"
        click.echo(f"[{number}/{total}] {record.folder}: {record.came}, {took}; {record.summary}", err=True)
        for message in record.messages if not again else ():
            click.echo(f"    {message}", err=True)

    yield tell


@contextmanager
def _preview(target: Path, port: int | None, speaker: _Speaker, lent: Lent) -> Iterator[None]:
    """The binder on a port of this machine, and its address on standard error."""
    from reportgen.service.preview import PreviewServer

    server = PreviewServer(target, port or 0, lent)
    try:
        if speaker.form not in _DOCUMENTS:
            click.echo(f"binder at {server.address}", err=True)
        yield
    finally:
        server.close()


@contextmanager
def _progress(form: str) -> Iterator[Callable[[str], None]]:
    """Show the running stage on a terminal; silent for documents, one word a stage where there is no terminal."""
    if form in _DOCUMENTS:
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
