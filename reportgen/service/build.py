"""One run: bytes of a folder in, files of a binder out. Opens nothing, publishes nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen import __version__
from reportgen.design.assemble import Design, assemble
from reportgen.design.findings import Outcome
from reportgen.diagnostics.model import Diagnostic, InputRefused, Severity, Sink
from reportgen.diagnostics.nearest import nearest
from reportgen.project.load import load_project
from reportgen.project.model import Project
from reportgen.project.nodes import span_of
from reportgen.rulebook.rulebook import Rulebook, UnknownEdition, adopted, editions, load
from reportgen.service.ahead import Ahead, tell
from reportgen.service.exit_codes import ExitCode
from reportgen.service.manifest import MANIFEST, manifest
from reportgen.service.site_weather import site_weather
from reportgen.service.snapshot import Snapshot

if TYPE_CHECKING:
    from reportgen.binder.write import Earlier
    from reportgen.service.recipe import Recipe

Progress = Callable[[str], object]
Pages = Callable[[Design, Mapping[str, bytes]], object]


@dataclass(frozen=True, slots=True)
class BuildOptions:
    """What a run is asked for.

    Parameters
    ----------
    pdf : bool
        Write ``binder.pdf``.
    strict : bool
        Thin, unknown and ask count as failing for the exit code.
    revision : str
        State of the folder's history, for the title block.
    archive : bool
        Write ``binder-archive.pdf`` as well, with the inputs and results enclosed.
    since : (str, mapping of str to bytes), optional
        Name and inputs of an earlier state; a chapter tells what differs from it.
    before : (str, mapping of str to bytes), optional
        Name and inputs of the revision that ``before`` of the folder names.
    extract : str
        Extract to write as well: ``review`` makes ``binder-review.html`` and ``binder-review.pdf``; empty for none.
    cache : bool
        Keep what is costly from one build to the next, in the user's cache folder; it changes no output.
    """

    pdf: bool = True
    strict: bool = False
    cache: bool = False
    revision: str = ""
    since: tuple[str, Mapping[str, bytes]] | None = None
    before: tuple[str, Mapping[str, bytes]] | None = None
    archive: bool = False
    extract: str = ""

    @property
    def text(self) -> str:
        """Options that change the outputs, for the manifest."""
        since = f"since {self.since[0]}" if self.since else ""
        extract = f"extract {self.extract}" if self.extract else ""
        files = ("" if self.pdf else "no-pdf", "archive" if self.archive else "", extract)
        return ", ".join(filter(None, (*files, self.revision, since)))


@dataclass(frozen=True, slots=True)
class Built:
    """What a run delivers.

    Parameters
    ----------
    outputs : mapping of str to bytes
        Content by path relative to the binder folder.
    exit_code : int
        Of the command that only builds.
    diagnostics : tuple of Diagnostic
        Messages beside the findings, for instance a missing PDF.
    summary : str
        One line.
    findings : tuple of mapping
        ``id`` and ``outcome`` of each finding.
    design : Design or None
        The design itself; left out where the result travels between processes.
    """

    outputs: Mapping[str, bytes]
    exit_code: int
    diagnostics: tuple[Diagnostic, ...]
    summary: str
    findings: tuple[Mapping[str, str], ...]
    design: Design | None = None


def read(snapshot: Snapshot, overlay: str | None = None) -> tuple[Project, Rulebook]:
    """Project and rulebook of a snapshot, with the file of a variant laid over it where one is named.

    Raises
    ------
    InputRefused
        With every diagnostic of the run.
    """
    try:
        project = load_project(snapshot.everything, overlay=overlay)
    except InputRefused as refused:
        together = sorted((*snapshot.problems, *refused.diagnostics), key=Diagnostic.sort_key)
        raise InputRefused(together) from refused
    if snapshot.refused:
        raise InputRefused(list(snapshot.problems))
    try:
        return project, adopted(str(project.project.rulebook))
    except UnknownEdition as error:
        name = project.project.rulebook
        sink = Sink()
        meant = nearest(str(name), error.known)
        help = (
            f"did you mean `{meant}`?"
            if meant
            else f"editions: {', '.join(f'`{item}`' for item in error.known)}"
        )
        place = span_of(name, project.project.where("rulebook"))
        sink.error("unknown-edition", f"there is no rulebook `{name}`", place, help=help)
        raise InputRefused(sink.sorted()) from error


def check(snapshot: Snapshot, overlay: str | None = None, *, whole: bool = False) -> Design:
    """Design of a snapshot without energy, searches or pages; quick enough for every save.

    ``overlay`` is the file of a variant to lay over it; ``whole`` chooses spools as well, as a build does.

    Raises
    ------
    InputRefused
        If the inputs cannot become a project.
    """
    project, rulebook = read(snapshot, overlay)
    return assemble(project, rulebook, snapshot.digest, choose_spools=whole)


def build(snapshot: Snapshot, options: BuildOptions | None = None) -> Built:
    """Whole binder of a snapshot, ready to travel between processes; see :func:`run`."""

    def pages(design: Design, outputs: Mapping[str, bytes]) -> None:
        tell(Ahead(outputs, summary(design), {f.id: str(f.outcome) for f in design.findings}))

    built = run(snapshot, options or BuildOptions(), on_pages=pages)
    return replace(built, design=None, summary=f"{built.summary}; {_rebuilt(built.design)}")


def _rebuilt(design: Design | None) -> str:
    """What of the costly parts was made again, in words for the line that a watcher prints."""
    energy = design.energy if design is not None else None
    if energy is None or energy.year is None:
        return "no year simulated"
    return "year as before, nothing it depends on has changed" if energy.kept else "year simulated"


def run(
    snapshot: Snapshot,
    options: BuildOptions,
    progress: Progress = lambda stage: None,
    on_pages: Pages = lambda design, outputs: None,
) -> Built:
    """Whole binder of a snapshot.

    Parameters
    ----------
    snapshot : Snapshot
        The inputs, read once.
    options : BuildOptions
        What is asked for.
    progress : callable
        Told the name of each stage as it begins.
    on_pages : callable
        Given the design and every file but the PDF before that is laid out; not called where no PDF is asked for.

    Raises
    ------
    InputRefused
        If the inputs cannot become a project, or the weather file cannot be used.
    """
    progress("read")
    project, rulebook = read(snapshot)
    progress("design")
    design = assemble(project, rulebook, snapshot.digest, choose_spools=True)
    progress("energy")
    design, files = with_energy(design, snapshot, cached=options.cache)
    progress("pages")
    return _write(design, files, options, progress, on_pages, snapshot)


def with_energy(
    design: Design, snapshot: Snapshot, *, cached: bool, sun: bool = True
) -> tuple[Design, dict[str, bytes]]:
    """The design with its year simulated, and the inputs with a shipped weather file among them.

    Raises
    ------
    InputRefused
        If the weather file cannot be used.
    """
    from reportgen.design.checks.sharing import with_year  # noqa: PLC0415
    from reportgen.design.commissioning import design_sun_hours  # noqa: PLC0415 - beside the year, which loads pvlib too
    from reportgen.design.energy_years import design_years  # noqa: PLC0415 - numpy and pvlib, only where a year is wanted
    from reportgen.design.row_orders import design_row_orders, wanted  # noqa: PLC0415
    from reportgen.service.cache import user_cache  # noqa: PLC0415 - numpy

    files = dict(snapshot.everything)
    cache = user_cache() if cached else None
    told = site_weather(design.project, snapshot, cache)
    files |= told.extra
    facts = design.facts
    energy, weather = design_years(
        design.project, design.rulebook, facts.strings, facts.circuits, told.years, told.names, cache
    )
    energy = replace(energy, warnings=(*energy.warnings, *told.unused))
    design = replace(design, energy=energy, findings=with_year(design.findings, facts, energy), cache=cache)
    if wanted(design.project):
        design = replace(design, rows=design_row_orders(design.project, design.stringing, weather, cache))
    return (replace(design, sun=design_sun_hours(design.project)) if sun else design), files


def _write(
    design: Design,
    files: Mapping[str, bytes],
    options: BuildOptions,
    progress: Progress,
    on_pages: Pages,
    snapshot: Snapshot,
) -> Built:
    from reportgen.binder.html import render  # noqa: PLC0415 - jinja2
    from reportgen.binder.results import results_json  # noqa: PLC0415
    from reportgen.binder.write import lay_out  # noqa: PLC0415
    from reportgen.service.alternatives import before_of, variants_of  # noqa: PLC0415 - it builds designs itself

    before, variants = before_of(design, snapshot, options), variants_of(design, snapshot, options)
    pages = lay_out(design, files, options.revision, _since(design, options), before, variants)
    html = render(pages.frame, pages.chapters, design.findings)
    outputs: dict[str, bytes] = {
        "binder.html": html.encode(),
        "results.json": results_json(design, __version__),
    }
    outputs |= pages.schedules
    extract = ""
    if options.extract:
        from reportgen.binder.extract import review_page  # noqa: PLC0415 - only where it is asked for

        extract = review_page(pages.frame, design)
        outputs["binder-review.html"] = extract.encode()
    diagnostics = snapshot.problems
    code = exit_code(design, strict=options.strict)
    if options.pdf:
        on_pages(design, dict(outputs))
        progress("PDF")
        pdfs, more = _pdfs(html, snapshot, outputs["results.json"] if options.archive else None, extract)
        diagnostics += more
        outputs |= pdfs
        if not pdfs:
            code = ExitCode.WITHOUT_PDF
    outputs[MANIFEST] = manifest(outputs, design.digest, tool_version(), tables_digest(), options.text)
    found = tuple({"id": finding.id, "outcome": str(finding.outcome)} for finding in design.findings)
    return Built(outputs, int(code), diagnostics, summary(design), found, design)


def _since(design: Design, options: BuildOptions) -> Earlier | None:
    """The earlier state that the options name: what differs from it, and its design."""
    if options.since is None:
        return None
    from reportgen.binder.write import Earlier  # noqa: PLC0415
    from reportgen.design.compare import compare_states  # noqa: PLC0415
    from reportgen.service.differ import StateRefused, design_of, state_of  # noqa: PLC0415

    name, inputs = options.since
    try:
        before, files = design_of(
            name, Snapshot.of(inputs), energy=design.energy is not None, cached=options.cache, whole=True
        )
    except StateRefused as state:
        message = f"{name} is no project that can be compared with"
        raise InputRefused(
            [Diagnostic("since-refused", message, Severity.ERROR), *state.refused.diagnostics]
        ) from state
    comparison = compare_states(state_of(before), state_of(design))
    return Earlier(name, comparison, before, files)


def _pdfs(
    html: str, snapshot: Snapshot, results: bytes | None, extract: str
) -> tuple[dict[str, bytes], tuple[Diagnostic, ...]]:
    """The PDF, the archive where results are given to enclose, the extract's; none where the renderer cannot be loaded."""
    from reportgen.binder.pdf import Enclosed, PangoMissing, write_pdf, write_pdfs  # noqa: PLC0415 - weasyprint
    from reportgen.service.unpack import INPUTS, RESULTS  # noqa: PLC0415

    enclosed = None
    if results is not None:
        enclosed = [Enclosed(f"{INPUTS}{path}", data, True) for path, data in snapshot.everything.items()]
        enclosed.append(Enclosed(RESULTS, results, False))
    try:
        made = write_pdfs(html, enclosed=enclosed)
    except PangoMissing as missing:
        message = "the PDF was left out, because a system library is missing"
        return {}, (Diagnostic("pdf-library-missing", message, Severity.WARNING, help=missing.help),)
    files = dict(zip(("binder.pdf", "binder-archive.pdf"), made, strict=False))
    if extract:
        files["binder-review.pdf"] = write_pdf(extract)
    return files, ()


def exit_code(design: Design, *, strict: bool = False) -> ExitCode:
    """Exit code that the findings call for."""
    bad = {Outcome.FAILS} | ({Outcome.THIN, Outcome.UNKNOWN, Outcome.ASK} if strict else set())
    return (
        ExitCode.FAILS_A_CHECK
        if any(finding.outcome in bad for finding in design.findings if not finding.needs_run)
        else ExitCode.DONE
    )


def summary(design: Design) -> str:
    """Counts of the outcomes in one line, worst first.

    Examples
    --------
    ``1 fails, 2 thin, 40 meets``
    """
    counts = [(outcome, len(design.of(outcome))) for outcome in Outcome]
    return ", ".join(f"{count} {outcome}" for outcome, count in counts if count) or "no checks"


def tool_version() -> str:
    """Version of this tool and of the library that holds the solar models and the shipped typical years."""
    from importlib.metadata import version  # noqa: PLC0415 - a twentieth of a quick check

    return f"{__version__}, pvlib {version('pvlib')}"


def tables_digest() -> str:
    """Digest of every rulebook that is shipped: a binder made with other tables is made again."""
    together = hashlib.blake2b(digest_size=32)
    for edition in editions():
        together.update(load(edition).digest.encode())
    return together.hexdigest()


def recipe(options: BuildOptions, folder: Path | None = None) -> Recipe:
    """What the watch loop builds with these options; each build of a folder carries the state of its history."""
    from reportgen.service.recipe import Recipe  # noqa: PLC0415 - processes, which a check starts none of

    def stamp(snapshot: Snapshot) -> tuple[object, str]:
        assert folder is not None
        stamped = stamped_options(options, folder, snapshot)
        return stamped, stamped.text

    tool, tables = tool_version(), tables_digest()
    return Recipe(tool, tables, options=options, options_text=options.text, stamp=stamp if folder else None)


def stamped_options(options: BuildOptions, folder: Path, snapshot: Snapshot) -> BuildOptions:
    """The options with the state of the folder's history."""
    from reportgen.service.alternatives import revision_wanted  # noqa: PLC0415
    from reportgen.service.history import History, NoHistory, revision_of  # noqa: PLC0415 - subprocess

    before: Mapping[str, bytes] = {}
    wanted = revision_wanted(snapshot)
    if wanted is not None:
        # what cannot be had is told by the build, at the line that names it
        with suppress(NoHistory):
            before = History(folder).snapshot(wanted).everything
    return replace(
        options,
        revision=revision_of(folder, snapshot).text,
        before=(wanted, before) if wanted is not None else None,
    )
