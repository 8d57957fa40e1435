"""Commands that build binders: one folder once, one folder again and again, many folders."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from reportgen.cli.options import cache_option, folder_argument, message_options, since_option
from reportgen.cli.revisions import earlier
from reportgen.cli.speaker import DOCUMENTS, Speaker, running_stage
from reportgen.service.exit_codes import ExitCode

if TYPE_CHECKING:
    import threading

    from reportgen.service.ahead import Lent
    from reportgen.service.batch import Record


@click.command()
@folder_argument
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
@since_option
@cache_option
@message_options
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
    speaker = Speaker(folder, form, color)
    options = BuildOptions(
        not no_pdf,
        strict,
        not no_cache,
        since=earlier(context, folder, since),
        archive=archive,
        extract=extract or "",
    )
    renew_schema(folder)
    with running_stage(form) as stage:
        outcome = build_once(folder, target, options, stage)
    words = (
        f"binder written to {target}"
        if outcome.published
        else "binder not written, the last one is as it was"
    )
    speaker.tell(outcome.diagnostics, words, outcome.summary, outcome.files)
    context.exit(outcome.exit_code)


@click.command()
@folder_argument
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
@since_option
@cache_option
@message_options
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

    speaker = Speaker(folder, form, color)
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
    wanted = BuildOptions(not no_pdf, cache=not no_cache, since=earlier(context, folder, since))
    renew_schema(folder)
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


@click.command()
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
@cache_option
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


def renew_schema(folder: Path) -> None:
    """Bring the schema that editors read up to this version, where a folder looks for one."""
    from contextlib import suppress

    from reportgen.authoring.schema import refresh_schema

    with suppress(OSError):  # a folder that cannot be read or written to is told by the build itself
        refresh_schema(folder)


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
def _preview(target: Path, port: int | None, speaker: Speaker, lent: Lent) -> Iterator[None]:
    """The binder on a port of this machine, and its address on standard error."""
    from reportgen.service.preview import PreviewServer

    server = PreviewServer(target, port or 0, lent)
    try:
        if speaker.form not in DOCUMENTS:
            click.echo(f"binder at {server.address}", err=True)
        yield
    finally:
        server.close()
