"""What is filled in and carried outside: fields, steps to tick, task cards."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.binder.elements.plain import Caution, Facts, Figure, Listing, Paragraph
from reportgen.binder.elements.tables import Blank, FormTable, Table


@dataclass(frozen=True, slots=True)
class Fields:
    """Named fields to fill in, one or two abreast: a sheet's head, a sign-off block, remarks."""

    id: str
    fields: tuple[Blank, ...]
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Steps:
    """Work in the order it is done, with a large box to tick before each step."""

    id: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TaskCard:
    """What is carried outside for one task: black on white, on one sheet, complete without the rest of the binder.

    :mod:`reportgen.binder.task_cards` makes them and sees to it that each fits its page.

    Parameters
    ----------
    id, title : str
        The title names the task.
    elements : tuple
        The plain ones of a page: no working, finding, heading or other card.
    purpose : str
        What the task is for, one sentence.
    stop : tuple of str
        Conditions under which the work is not begun or not gone on with; printed in a frame before all else.
    """

    id: str
    title: str
    elements: tuple[
        Table | Caution | Paragraph | Listing | Facts | Figure | FormTable | Fields | Steps,
        ...,
    ]
    purpose: str = ""
    stop: tuple[str, ...] = ()
