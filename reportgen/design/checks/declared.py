"""What inverters declare: current fed back, ground-fault detection, surge protection."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing


@check
def backfeed(facts: Facts) -> Iterator[Finding]:
    """Current that an inverter can feed back, which decides whether strings need fuses."""
    for key, inverter in facts.project.inverters.items():
        if inverter.backfeed_current is None:
            missing = Missing(f"backfeed_current of inverter type {key}", inverter.span)
            yield unknown(
                "backfeed", key, f"current that inverter type {key} feeds back is not stated", [missing]
            )


@check
def ground_fault(facts: Facts) -> Iterator[Finding]:
    """Ground-fault detection as each inverter declares it."""
    for key, inverter in facts.project.inverters.items():
        yield _declared(
            "ground-fault",
            key,
            inverter.ground_fault_protection,
            "ground-fault detection",
            Missing(f"ground_fault_protection of inverter type {key}", inverter.span),
            "What detects a ground fault in these strings, indicates it and interrupts it?",
        )


@check
def surge(facts: Facts) -> Iterator[Finding]:
    """Surge protection at the PV inputs as each inverter declares it."""
    for key, inverter in facts.project.inverters.items():
        yield _declared(
            "surge-protection",
            key,
            inverter.surge_protection,
            "surge protection at its PV inputs",
            Missing(f"surge_protection of inverter type {key}", inverter.span),
            "Is surge protection wanted at the array or at the inverter, and of which type and voltage?",
        )


def _declared(
    code: str, key: str, stated: bool | None, what: str, missing: Missing, question: str
) -> Finding:
    if stated is None:
        return unknown(code, key, f"inverter type {key} does not say whether it has {what}", [missing])
    if stated:
        return Finding(code, key, Outcome.MEETS, f"inverter type {key} declares {what}")
    return Finding(code, key, Outcome.ASK, f"inverter type {key} has no {what}", question=question)
