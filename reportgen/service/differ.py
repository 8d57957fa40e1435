"""Two states of a folder built in memory and compared; nothing is checked out, nothing is written."""

from __future__ import annotations

from collections.abc import Mapping

from reportgen.binder.results import results_of
from reportgen.design.assemble import Design
from reportgen.design.compare import Comparison, State, Turn, compare_states
from reportgen.design.findings import Outcome
from reportgen.diagnostics.model import InputRefused
from reportgen.service.build import check, with_energy
from reportgen.service.exit_codes import ExitCode
from reportgen.service.snapshot import Snapshot


class StateRefused(Exception):
    """Raised when one of the two states is no project.

    Attributes
    ----------
    name : str
        What the state is called.
    refused : InputRefused
        Why.
    files : mapping of str to bytes
        The inputs of that state, for excerpts.
    """

    def __init__(self, name: str, refused: InputRefused, files: Mapping[str, bytes]) -> None:
        super().__init__(f"{name} is no project: {refused}")
        self.name = name
        self.refused = refused
        self.files = files


def compare(
    before: tuple[str, Snapshot], after: tuple[str, Snapshot], *, energy: bool = False, cached: bool = True
) -> Comparison:
    """What differs between two states.

    Parameters
    ----------
    before, after : (str, Snapshot)
        Name and inputs of each.
    energy : bool
        Simulate both years and compare them as well.
    cached : bool
        Take years from the user's cache, and keep them there.

    Raises
    ------
    StateRefused
        If one of them cannot become a project.
    """
    designs = (design_of(*side, energy=energy, cached=cached)[0] for side in (before, after))
    return compare_states(*map(state_of, designs))


def design_of(
    name: str, snapshot: Snapshot, *, energy: bool, cached: bool, whole: bool = False
) -> tuple[Design, Mapping[str, bytes]]:
    """Design of one side and the files it came from; ``whole`` is as a build makes it, spools chosen and all.

    Raises
    ------
    StateRefused
        If it cannot become a project.
    """
    try:
        design = check(snapshot, whole=whole)
        if not energy:
            return design, snapshot.everything
        return with_energy(design, snapshot, cached=cached, sun=whole)
    except InputRefused as refused:
        raise StateRefused(name, refused, snapshot.everything) from refused


def state_of(design: Design) -> State:
    """One side of a comparison."""
    return State(design.project, design.findings, results_of(design))


def exit_code(comparison: Comparison) -> ExitCode:
    """One where something fails now that did not before, else done."""
    fails = any(
        item.after is not None and item.after.outcome is Outcome.FAILS
        for item in comparison.turned(Turn.GAINED, Turn.TURNED)
    )
    return ExitCode.FAILS_A_CHECK if fails else ExitCode.DONE
