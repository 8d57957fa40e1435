"""Counts of one entry that contradict each other: more modules than places, wires that a circuit cannot have."""

from __future__ import annotations

from reportgen.diagnostics.model import Sink
from reportgen.project.layout import Array, Circuit
from reportgen.project.model import Project

_CODE = "impossible-value"


def check_counts(project: Project, sink: Sink) -> None:
    """Report counts of arrays and circuits that cannot be true together, each with its place.

    Parameters
    ----------
    project : Project
        Typed, its references checked.
    sink : Sink
        Receives the diagnostics.
    """
    for key, array in project.arrays.items():
        _places(str(key), array, sink)
    for key, circuit in project.circuits.items():
        _wires(str(key), circuit, sink)


def _places(key: str, array: Array, sink: Sink) -> None:
    if array.count is None or array.rows is None or array.columns is None:
        return
    places = int(array.rows) * int(array.columns)
    if int(array.count) > places:
        message = f"count `{int(array.count)}` of array `{key}` is more than its {int(array.rows)} rows and {int(array.columns)} columns hold"
        help = f"{int(array.rows)} × {int(array.columns)} are {places} places; correct one of the three, or leave `count` out"
        related = [(array.where("rows"), "rows stand here")]
        sink.error(_CODE, message, array.where("count"), help=help, related=related)


def _wires(key: str, circuit: Circuit, sink: Sink) -> None:
    """A count that nothing reads would be a wire that takes no space and heats nothing."""
    many = int(circuit.parallel or 1)
    if (
        circuit.kind == "string"
        and circuit.conductors is not None
        and int(circuit.conductors) not in {2, 2 * many}
    ):
        message = (
            f"circuit `{key}` of a string has `{int(circuit.conductors)}` conductors, and not {2 * many}"
        )
        help = (
            "a string has two legs; write `parallel` where each leg is of several, and a circuit of its own"
            " for each further string, ground or spare"
        )
        sink.error(_CODE, message, circuit.where("conductors"), help=help)
    if circuit.kind not in {"string", "output"} and many > 1:
        message = f"circuit `{key}` of kind `{circuit.kind}` has `parallel: {many}`, and no legs"
        sink.error(
            _CODE, message, circuit.where("parallel"), help=f"write `conductors: {many}` for so many wires"
        )
