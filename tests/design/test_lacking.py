"""What a finding lacks is named once, where it was first met."""

from __future__ import annotations

from reportgen.design.checks.base import unknown
from reportgen.design.missing import Missing
from reportgen.diagnostics.model import Span


def test_what_lacks_twice_is_named_once() -> None:
    first, again, other = Missing("a", Span("x.yaml", 1, 1)), Missing("a", Span("x.yaml", 9, 1)), Missing("b")
    finding = unknown("code", "S", "not known", [first, other, again])
    assert finding.missing == ("a", "b")
    assert finding.missing_at == (first.span, None)
    assert (finding.cure, finding.cure_span) == ("state a", first.span)
