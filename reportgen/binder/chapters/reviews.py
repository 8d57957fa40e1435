"""Who reviewed what: each review with the inputs it was made of, its remarks and the exceptions it accepts."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Listing
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.project.records import Review

_SHORTEST = 8  # letters of a digest that name inputs


def chapter(desk: Desk) -> Chapter | None:
    """The reviews of the folder; None where there is none."""
    reviews = desk.design.project.reviews
    if not reviews:
        return None
    elements: list[Element] = [desk.keep(_table(desk)).table()]
    if any(state(review, desk.design.digest) != "of these inputs" for review in reviews.values()):
        elements.append(
            Caution(
                "A review holds for the inputs it was made of",
                "Compare their digest with the one of this binder. After a change the work is not covered by an earlier"
                " review; have the reviewer look at what changed.",
            )
        )
    known = {finding.id: finding for finding in desk.design.findings}
    for key, review in reviews.items():
        if review.remarks:
            elements += [
                Heading(f"Remarks of {review.name}", 3, f"remarks-{key}"),
                Listing(tuple(map(str, review.remarks))),
            ]
        if review.accepted:
            words = []
            for text in review.accepted:
                identity, reason = split(str(text))
                finding = known.get(identity)
                now = f"{finding.outcome} now: {finding.headline}" if finding else "no such finding now"
                words.append(f"{identity} ({now}); reason: {reason or 'none given'}")
            elements += [Heading(f"Accepted by {review.name}", 3, f"accepted-{key}"), Listing(tuple(words))]
    summary = "An accepted exception stays a finding: the outcome is not changed by it."
    return Chapter("reviews", "Reviews", summary, tuple(elements))


def state(review: Review, digest: str) -> str:
    """Whether a review is of these inputs.

    Examples
    --------
    >>> state(Review.model_validate({"name": "N", "digest": "0123456789ab"}), "0123456789abcdef")
    'of these inputs'
    """
    named = str(review.digest or "").lower()
    if not named:
        return "names no inputs"
    if len(named) < _SHORTEST:
        return "names too few letters of a digest"
    return "of these inputs" if digest.startswith(named) else "of other inputs"


def split(text: str) -> tuple[str, str]:
    """Finding id and reason of an accepted exception: the reason stands behind a colon and a space.

    Examples
    --------
    >>> split("voltage-drop:PV-W1: short run, no hazard")
    ('voltage-drop:PV-W1', 'short run, no hazard')
    """
    identity, _, reason = text.partition(": ")
    return identity.strip(), reason.strip()


def cover_fact(desk: Desk) -> str:
    """The latest review in a few words for the cover; empty where there is none."""
    reviews = list(desk.design.project.reviews.values())
    if not reviews:
        return ""
    last = max(reviews, key=lambda review: str(review.date or ""))
    digest = str(last.digest or "")[:12] or "no digest"
    found = state(last, desk.design.digest)
    changed = {"of these inputs": "no", "of other inputs": "yes"}.get(found, f"unknown, it {found}")
    what = ""
    if desk.since is not None and changed == "yes":
        name, comparison = desk.since
        what = f", {len(comparison.inputs)} inputs and {len(comparison.findings)} findings since {name}"
    return f"{last.name}, at {digest}; changed since: {changed}{what}"


def _table(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "date": str(review.date or ""),
                "name": str(review.name),
                "role": str(review.role or ""),
                "licence": str(review.licence or ""),
                "digest": str(review.digest or "")[:16],
                "state": state(review, desk.design.digest),
            }
        )
        for review in desk.design.project.reviews.values()
    )
    fields = (
        Field("date", "Date"),
        Field("name", "Reviewer"),
        Field("role", "Role"),
        Field("licence", "Licence"),
        Field("digest", "Inputs reviewed"),
        Field("state", "Which inputs"),
    )
    return Schedule(
        "reviews", f"Reviews; the inputs of this binder are {desk.design.digest[:16]}", fields, lines
    )
