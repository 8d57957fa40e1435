"""Which way a path passes each of its stretches, and so what stands before and behind it."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.design.graph import Graph, SegmentId


def passed_ends(graph: Graph, hops: Sequence[SegmentId]) -> list[tuple[str, str]]:
    """Places at the two ends of each stretch in the order in which the path passes them; empty where not stated."""
    found = []
    for before, hop, after in zip([None, *hops[:-1]], hops, [*hops[1:], None], strict=True):
        one, two = graph.enclosure_before(hop), graph.enclosure_after(hop)
        found.append((two, one) if _place(graph, before, after, hop) < 0 else (one, two))
    return found


def _place(graph: Graph, before: SegmentId | None, after: SegmentId | None, hop: SegmentId) -> int:
    """-1 where a path passes a stretch from its far end, 1 where from its near one or where nothing tells."""
    steps = graph.places[hop.raceway]
    for other, sign in ((before, 1), (after, -1)):
        if other is None:
            continue
        if other.raceway == hop.raceway and abs(steps[other.segment] - steps[hop.segment]) == 1:
            return sign * (steps[hop.segment] - steps[other.segment])
        shared = {graph.enclosure_before(other), graph.enclosure_after(other)} - {""}
        near, far = graph.enclosure_before(hop) in shared, graph.enclosure_after(hop) in shared
        if near != far:
            return sign if near else -sign
    return 1
