"""An invented binder with every kind of element: long tables, workings, forms, charts, all five outcomes."""

from __future__ import annotations

from reportgen.binder.charts import WindowLimit, WindowPoint, loss_bars, monthly_bars, window_chart
from reportgen.binder.elements import (
    Blank,
    Caution,
    Chapter,
    Column,
    Facts,
    Fields,
    FormTable,
    Heading,
    Listing,
    Paragraph,
    SourceText,
    Table,
    TableCell,
    anchor,
    finding_view,
    row,
)
from reportgen.binder.frame import Frame
from reportgen.binder.section_chart import SectionWire, raceway_section
from reportgen.binder.workings import working_view
from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.model import Span
from reportgen.working.quantity import Assumed, Cell, Given, Quantity, work
from reportgen.working.text import fixed

FRAME = Frame(
    title="Lantern Mill paper store, two ground tables",
    number="LM-12",
    revision="C",
    date="2026-03-09",
    digest="5f3a91c2d4e8b7a60f1e2d3c4b5a69788796a5b4c3d2e1f00112233445566778",
    revision_text="commit 41c07d2, no changes since",
    edition="NEC 2023",
    facts=(("owner", "Odile Marrow"), ("designer", "P. Quill"), ("place", "Sluice Road 4")),
)


def cold_voltage(string: str = "S1", count: int = 13) -> Quantity:
    """A voltage with two steps, every kind of origin and an intermediate result used twice."""
    modules = Quantity(count, "", Given(str(count), Span("strings.yaml", 14)), "modules in series")
    open_voltage = Quantity(41.85, "V", Given("41.85 V", Span("modules.yaml", 8)), "open-circuit voltage")
    slope = Quantity(-0.27, "%/degC", Given("-0.27 %/degC", Span("modules.yaml", 11)), "its change")
    low = Quantity(-7.6, "degF", Given("-7.6 degF", Span("site.yaml", 5)), "record low").to("degC")
    rise = work("rise over standard conditions", "K", "T - T_stc", T=low, T_stc=25)
    factor = work("factor for the cold", "", "1 + b / 100 * dT", b=slope, dT=rise)
    spare = Quantity(0.5, "V", Assumed("spare", "meter error", "common practice, no source"), "meter error")
    held = Quantity(
        1.0, "", Cell("Table 9", "12 AWG", "copper", "1.00", "", "NEC 2023", recalled=True), "factor k"
    )
    return work(
        f"cold open-circuit voltage of {string}",
        "V",
        "k_t * N * V_oc * factor + dV * factor",
        k_t=held,
        N=modules,
        V_oc=open_voltage,
        factor=factor,
        dV=spare,
    )


def findings(thin: int = 4, meets: int = 40) -> tuple[Finding, ...]:
    """Findings of all outcomes, most of them meeting."""
    value, limit = cold_voltage(), Quantity(600.0, "V", Given("600 V", Span("inverters.yaml", 21)))
    place = Span("strings.yaml", 14, 5)
    some = [
        Finding(
            "cold-voltage", "S1", Outcome.FAILS, "cold voltage of S1 614.2 V exceeds 600 V", value=value,
            limit=limit, margin=-0.0237, break_even="meets down to −13.4 °C", cure="use 12 modules instead of 13",
            cure_span=place, clause="690.7(A)", clause_recalled=True, notes=("record low governs",),
        ),
        Finding(
            "start-voltage", "S2", Outcome.UNKNOWN, "start voltage of input B is not stated",
            missing=("start_voltage of inverter `INV-1`",), cure="state it", cure_span=Span("inverters.yaml", 30),
        ),
        Finding(
            "shutdown", "site", Outcome.ASK, "whether rapid shutdown applies is not decided here",
            question="Does the store count as a building?", clause="690.12",
        ),
    ]  # fmt: skip
    some += [
        Finding(
            "drop", f"C{i}", Outcome.THIN, f"voltage drop of C{i} {2.9 + i / 100:.2f} %, target 3.00 %",
            margin=0.01 * i, cure="use the next larger wire", cure_span=Span("circuits.yaml", 10 * i),
        )
        for i in range(1, thin + 1)
    ]  # fmt: skip
    some += [
        Finding("fill", f"R{i}", Outcome.MEETS, f"fill of R{i} {10 + i / 3:.1f} %, limit 40 %", margin=0.4)
        for i in range(1, meets + 1)
    ]
    return tuple(some)


def wires(count: int = 36) -> Table:
    """A long table of numbers with groups, outcomes, links and negative values."""
    columns = (
        Column("Circuit"),
        Column("From"),
        Column("one way", "m", "right", "Length"),
        Column("both legs", "m", "right", "Length"),
        Column("V_oc", "V", "right"),
        Column("Drop", "%", "right"),
        Column("Cold end", "°C", "right"),
        Column("Remark"),
    )
    rows = tuple(
        row(
            TableCell(f"PV-{i}", strong=i % 9 == 0),
            "table EAST" if i % 2 else "table WEST",
            fixed(60.25 + i * 1.375, 2),
            fixed(120.5 + i * 2.75, 2),
            fixed(431.07 + i, 2),
            TableCell(fixed(1 + i / 17, 2), list(Outcome)[i % 5], link=anchor("working", "S1")),
            fixed(-22.5 + i / 4, 1),
            TableCell("along the hedge, through the pull box", note="measured twice") if i % 6 == 0 else "",
            anchor=f"wire-{i}",
            group="North field" if i <= count // 2 else "South field",
        )
        for i in range(1, count + 1)
    )
    return Table("wires", "Home runs", columns, rows, ("Lengths follow the trench.",), wide=True)


def sheet() -> tuple[FormTable, Fields]:
    """A test sheet and a sign-off block."""
    columns = (
        Column("String"),
        Column("Expected V_oc", "V", "right"),
        Column("Polarity right"),
        Column("Measured", "V"),
        Column("Cell", "°C"),
        Column("Initials"),
    )
    rows = tuple(
        (f"S{i}", fixed(502.4 + i, 1), Blank(tick=True), Blank(), Blank(), Blank()) for i in range(1, 7)
    )
    fields = (Blank("Tester"), Blank("Date"), Blank("Reviewed", tick=True), Blank("Remarks", lines=4))
    return FormTable("tests", "Open-circuit voltage", columns, rows), Fields("signed", fields, "Sign-off")


def window():
    """A window chart from eight to fifteen modules."""
    points = [WindowPoint(n, 46.9 * n, 45.1 * n, 31.2 * n if n != 15 else None) for n in range(8, 16)]
    limits = [
        WindowLimit("never exceed", 600, "never"),
        WindowLimit("window, upper edge", 550, "window"),
        WindowLimit("window, lower edge", 150, "window"),
        WindowLimit("start", 180, "start"),
    ]
    return window_chart("window", "String window", "12 modules stay below 600 V.", points, limits, {12, 13})


def section(key: str = "section"):
    """A raceway with nine wires of two sizes."""
    bundle = [SectionWire(f"PV-{i} {'+' if i % 2 else '−'}", 5.8) for i in range(1, 9)]
    return raceway_section(
        key,
        "R1, trench",
        "Nine wires in a bore of 35 mm.",
        35.05,
        [*bundle, SectionWire("ground", 4.2, True)],
    )


def chapters() -> tuple[Chapter, ...]:
    """Chapters with every kind of element."""
    found = findings()
    heads = [finding_view(f, anchor("working", "S1")) for f in found if f.outcome is not Outcome.MEETS]
    met = Table(
        "met",
        "Checks that meet",
        (Column("Finding"), Column("Margin", "%", "right")),
        tuple(
            row(f.headline, "40", anchor="finding-" + anchor(f.id))
            for f in found
            if f.outcome is Outcome.MEETS
        ),
    )
    monthly = [1210.4, 1544.9, 2201.3, 2600.0, 2911.7, 2990.1, 3011.8, 2704.4, 2150.2, 1780.6, 1233.3, 1050.7]
    losses = [("light", 41460.0, 1.0), ("reflected", 1328.4, 0.032), ("gain of the cold", -210.0, -0.005)]
    return (
        Chapter("findings", "Findings", "Every check and what it came to.", (Heading("Open"), *heads, met)),
        Chapter(
            "strings",
            "String design",
            "Safe in the cold, awake in the heat.",
            (
                Caution("High direct voltage", "Above 120 V contact can kill.", "IEC 61140, recalled"),
                window(),
                Heading("Working", anchor="strings-working"),
                working_view(cold_voltage(), "690.7(A)", id=anchor("working", "S1"), clause_recalled=True),
                *(working_view(cold_voltage(f"S{i}", i)) for i in range(8, 13)),
            ),
        ),
        Chapter(
            "wires", "Home runs", "Every wire.", (wires(), section(), Paragraph("Trench depth is 24 in."))
        ),
        Chapter(
            "year",
            "The year",
            "A typical year.",
            (
                Facts((("Weather", "a typical year"), ("T_c hottest", "68 °C")), "Basis"),
                monthly_bars(monthly, "AC output by month"),
                loss_bars("losses", "Where the energy goes", losses),
                Listing(("first", "second"), numbered=True),
            ),
        ),
        Chapter("tests", "Commissioning sheet", "To fill in.", sheet()),
        Chapter(
            "inputs",
            "Inputs",
            "Read.",
            (SourceText("site.yaml", "site:\n  record_low: -7.6 degF\n\n  x: <b>\n  y: 3", "in site"),),
        ),
    )
