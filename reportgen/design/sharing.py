"""Inputs that unlike strings share: what they give together and apart at standard conditions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.design.missing import Missing
from reportgen.design.results import InputDesign, StringDesign

if TYPE_CHECKING:
    # Only for the annotation: the module loads pvlib, which a check does without.
    from reportgen.engineering.energy.sharing import SharedInput


@dataclass(frozen=True)
class SharingDesign:
    """One input with unlike strings, in their order; ``shared`` is missing where a data sheet is too thin."""

    address: str
    strings: tuple[str, ...]
    counts: tuple[int, ...]
    shared: SharedInput | Missing


def design_sharing(
    inputs: tuple[InputDesign, ...], strings: Mapping[str, StringDesign]
) -> tuple[SharingDesign, ...]:
    """Inputs whose strings differ in count or module type, each computed with one tracker for all."""
    found = []
    for item in inputs:
        on_it = [strings[key] for key in item.strings]
        if len({(string.module_id, string.count.value) for string in on_it}) > 1:
            counts = tuple(int(string.count.value) for string in on_it)
            found.append(SharingDesign(item.address, item.strings, counts, _shared(on_it)))
    return tuple(found)


def _shared(on_it: list[StringDesign]) -> SharedInput | Missing:
    # Loads pvlib, so only once an input is shared by unlike strings and a page wants it.
    from reportgen.design.energy import sheet_of  # noqa: PLC0415
    from reportgen.engineering.energy.module import SheetProblem  # noqa: PLC0415
    from reportgen.engineering.energy.sharing import SharedString, share_input  # noqa: PLC0415

    told = []
    for string in on_it:
        if string.module is None or string.count.value < 1:
            return Missing(f"one module type and a count of string {string.id}")
        module = string.module
        for field in ("voltage_coefficient", "current_coefficient", "cells_in_series"):
            if getattr(module, field) is None:
                return Missing(f"{field} of module type {string.module_id}", module.span)
        told.append(SharedString(sheet_of(module), int(string.count.value)))
    try:
        return share_input(told)
    except SheetProblem as problem:
        return Missing(f"module figures that belong together: {problem}")
