"""Designs to stand beside the one that is built: what stood there before, and the variants of the folder."""

from __future__ import annotations

from collections.abc import Mapping

from reportgen.design.assemble import Design
from reportgen.diagnostics.model import Diagnostic, InputRefused, Label, Severity, Sink, Span
from reportgen.project.nodes import Map, Scalar
from reportgen.project.reader import read_yaml
from reportgen.service.build import BuildOptions, check, with_energy
from reportgen.service.scope import YAML_SUFFIXES
from reportgen.service.snapshot import VARIANTS, Snapshot


def before_of(design: Design, snapshot: Snapshot, options: BuildOptions) -> tuple[str, Design] | None:
    """Name and design of what stood there before, where the folder names it.

    Raises
    ------
    InputRefused
        If the folder or revision is not to be had, or is no project.
    """
    before = design.project.before
    if before is None:
        return None
    if before.folder is not None:
        prefix = f"{str(before.folder).strip('/')}/"
        files = {
            path.removeprefix(prefix): data
            for path, data in snapshot.files.items()
            if path.startswith(prefix)
        }
        return _built(f"folder {before.folder}", files, before.where("folder"), options)
    if before.revision is not None:
        found = dict(options.before[1]) if options.before is not None else {}
        return _built(f"revision {before.revision}", found, before.where("revision"), options)
    return None


def variants_of(design: Design, snapshot: Snapshot, options: BuildOptions) -> tuple[tuple[str, Design], ...]:
    """Designs of the variants by id: the folder with a file of ``variants/`` laid over it.

    Raises
    ------
    InputRefused
        If the folder is no project any more with a variant's file laid over it.
    """
    found = []
    for key, variant in design.project.variants.items():
        other = check(snapshot, str(variant.file), whole=True)
        found.append((str(key), with_energy(other, snapshot, cached=options.cache)[0]))
    return tuple(found)


def revision_wanted(snapshot: Snapshot) -> str | None:
    """Revision that ``before`` names, without reading more than the one file that may hold it."""
    for path, data in snapshot.files.items():
        if (
            b"before" not in data
            or not path.lower().endswith(tuple(YAML_SUFFIXES))
            or path.startswith(f"{VARIANTS}/")
        ):
            continue
        top = read_yaml(path, data, Sink())
        before = top.get(Scalar("before", Span(""))) if top is not None else None
        revision = before.get(Scalar("revision", Span(""))) if isinstance(before, Map) else None
        if isinstance(revision, Scalar) and not revision.is_null:
            return str(revision)
    return None


def _built(name: str, files: Mapping[str, bytes], place: Span, options: BuildOptions) -> tuple[str, Design]:
    if not files:
        message = f"the {name} that `before` names holds no input that can be read here"
        help = "name a folder below this one, or a revision of the repository that this folder lies in"
        raise InputRefused([Diagnostic("before-missing", message, Severity.ERROR, (Label(place),), help)])
    snapshot = Snapshot.of(files)
    try:
        return name, with_energy(check(snapshot, whole=True), snapshot, cached=options.cache)[0]
    except InputRefused as refused:
        message = f"the {name} that `before` names is no project: {len(refused.diagnostics)} messages"
        first = refused.diagnostics[0]
        where = f" in {first.span.short}" if first.span is not None else ""
        note = f"the first is: {first.message}{where}"
        found = Diagnostic("before-missing", message, Severity.ERROR, (Label(place),), None, (note,))
        raise InputRefused([found]) from refused
