"""The pull of a section as a record: what is pulled, the limits, and the pulls in both directions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reportgen.design.graph import Conductor
from reportgen.design.missing import Known, Missing
from reportgen.design.results import PullSection
from reportgen.engineering.pull_advice import FeedAdvice, PullPoint, further_pull_point
from reportgen.engineering.pull_limits import Limits
from reportgen.engineering.pulling import Pull
from reportgen.working.quantity import Quantity

#: Names of the three coefficients of friction, in the order in which pulls are kept.
FRICTIONS = ("lubricated", "middle", "dry")
LUBRICATED, MIDDLE, DRY = range(3)
Feed = Literal["start", "end"]
BOTH_ENDS: tuple[Feed, Feed] = ("start", "end")


@dataclass(frozen=True)
class PullDesign:
    """The pull of one section, or what has to be stated before there is one.

    Attributes
    ----------
    wires, staying : tuple of Conductor
        Pulled together, and already in the pipe and staying there.
    weight : Quantity or Missing
        Of everything pulled together. [lbf/ft]
    frictions : tuple of Quantity or Missing
        Lubricated, middle and dry. [-]
    usual_friction : bool
        The usual coefficients stand in for one that is not stated: no verdict rests on them.
    tension_limits : tuple of Quantity or Missing
        Of the conductors, of the grip, and the user's own. [lbf]
    line, sidewall : Quantity or Missing
        Working load of the line [lbf], and the cable maker's pressure [lbf/ft].
    advice : FeedAdvice or Missing
        Pulls in both directions, one for each coefficient of friction.
    """

    section: PullSection
    wires: tuple[Conductor, ...]
    staying: tuple[Conductor, ...]
    weight: Known
    correction: Known
    frictions: tuple[Known, Known, Known]
    usual_friction: bool
    feed_tension: Quantity
    tension_limits: tuple[Known, ...]
    line: Known
    sidewall: Known
    missing: tuple[Missing, ...]
    advice: FeedAdvice | Missing
    length: Quantity
    line_length: Quantity
    lubricant: Known
    stop: Known
    plastic: bool

    @property
    def name(self) -> str:
        """The section in words."""
        return f"{self.section.raceway} {self.section.start} to {self.section.end}"

    @property
    def part(self) -> str:
        """Part of the finding ids."""
        return f"{self.section.start}-{self.section.end}"

    @property
    def feed(self) -> Feed | None:
        """Recommended feed end; the start where both are alike, None where nothing is known."""
        if isinstance(self.advice, Missing):
            return None
        return "end" if self.advice.feed == "end" else "start"

    def place(self, end: Feed) -> str:
        """Id of what stands at an end."""
        return self.section.start if end == "start" else self.section.end

    def pulls(self, feed: Feed) -> tuple[Pull, ...]:
        """Pulls fed from an end, in the order of :data:`FRICTIONS`; empty where nothing is known."""
        if isinstance(self.advice, Missing):
            return ()
        return self.advice.from_start if feed == "start" else self.advice.from_end

    @property
    def limits(self) -> Limits:
        """Limits that are known."""
        listed = (*self.tension_limits, self.line)
        return Limits(
            tuple(limit for limit in listed if isinstance(limit, Quantity)),
            self.sidewall if isinstance(self.sidewall, Quantity) else None,
        )

    @property
    def bends(self) -> bool:
        """Whether the section bends at all."""
        return any(step.pressure is not None for one in self.pulls("start")[:1] for step in one.steps)

    def further_pull_point(self) -> PullPoint | None:
        """Where one more pull point helps most, dry; None where nothing is known or nothing can be cut.

        Counted from the feed end, both parts being pulled in the direction of the whole: its bends stand where they
        are worst for that direction.
        """
        if self.feed is None:
            return None
        run = tuple(step.element for step in self.pulls(self.feed)[DRY].steps)
        dry, correction, weight = self.frictions[DRY], self.correction, self.weight
        assert isinstance(dry, Quantity) and isinstance(correction, Quantity) and isinstance(weight, Quantity)
        return further_pull_point(run, weight, dry, correction, self.limits, self.feed_tension, one_way=True)
