"""Legs to ground, insulation and bonds judged, with the place of a ground fault in a string.

On a floating array both legs settle to nothing against ground. A fault holds them: the leg that is k modules away from
it keeps their voltage, so the split of the two legs tells between which modules the fault lies.
"""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.engineering.readings.outcome import (
    Bands,
    Judgement,
    Mistake,
    Verdict,
    common_bands,
    no_verdict,
    not_a_number,
)
from reportgen.engineering.readings.voltage import REVERSED
from reportgen.rulebook import standard_equipment, standards
from reportgen.rulebook.errors import OutsideTable
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Number, Quantity, quantity, work

#: A fault nearer than this to a joint between modules is put there, else into the module [modules].
_AT_A_JOINT = 0.25


@dataclass(frozen=True, slots=True)
class FaultPosition:
    """Where a string touches ground, counted from its positive end.

    Parameters
    ----------
    modules : Quantity
        Modules between the positive leg and the fault. [-]
    behind, before : int
        Neighbours of the fault; equal where it lies inside that module, 0 and N + 1 standing for the legs. [-]
    says : str
        The place in words.
    """

    modules: Quantity
    behind: int
    before: int
    says: str


def fault_position(positive: Number, negative: Number, count: int) -> FaultPosition:
    """Place of a ground fault from the two legs' steady voltages to ground.

    Parameters
    ----------
    positive, negative : float or Quantity
        Of the legs to ground, with their signs. [V]
    count : int
        Modules in series [-].

    Raises
    ------
    ValueError
        If both legs read nothing, or there is no module.

    Notes
    -----
    A meter of finite resistance lowers both readings in one proportion where the fault has resistance of its own, so
    the split is taken of their sum.

    Examples
    --------
    >>> fault_position(254, -146, 11).says
    'between module 7 and 8 from +'
    """
    plus, minus = quantity(positive, "V"), quantity(negative, "V")
    if count < 1 or plus.value == minus.value == 0:
        msg = "no module or no voltage to ground"
        raise ValueError(msg)
    place = work(
        "modules between the positive leg and the fault",
        "",
        "N * abs(V_plus) / (abs(V_plus) + abs(V_minus))",
        N=count,
        V_plus=plus,
        V_minus=minus,
    )
    nearest = round(place.value)
    if abs(place.value - nearest) > _AT_A_JOINT:
        inside = int(place.value) + 1
        return FaultPosition(place, inside, inside, f"in module {inside} from +")
    if nearest == 0:
        return FaultPosition(place, 0, 1, "on the positive leg, before module 1 from +")
    if nearest == count:
        return FaultPosition(place, count, count + 1, f"on the negative leg, behind module {count} from +")
    return FaultPosition(place, nearest, nearest + 1, f"between module {nearest} and {nearest + 1} from +")


def judge_legs(
    positive: Number, negative: Number, open_circuit: Number, count: int, bands: Bands | None = None
) -> Judgement:
    """Both legs of a floating string to ground, settled, the inverter off.

    Parameters
    ----------
    positive, negative : float or Quantity
        Of the legs to ground, red lead on the leg. [V]
    open_circuit : float or Quantity
        Between the legs, read in the same minutes. [V]
    count : int
        Modules in series. [-]
    bands : Bands, optional
        The common practice stands in.
    """
    bands = bands or common_bands()
    plus, minus = quantity(positive, "V"), quantity(negative, "V")
    voltage = quantity(open_circuit, "V")
    if bad := not_a_number(plus, minus, voltage):
        return bad
    if not voltage.value > 0:
        return no_verdict(
            "no voltage between the legs", "read the open-circuit voltage first, and its polarity"
        )
    both = work("both legs to ground", "V", "abs(V_plus) + abs(V_minus)", V_plus=plus, V_minus=minus)
    share = work("share of the open-circuit voltage", "%", "100 * V_legs / V_oc", V_legs=both, V_oc=voltage)
    told = f"{plus.show(1)} and {minus.show(1)} to ground, {share.show(0)} of the open-circuit voltage"
    if share.value <= bands.leg_settled.value:
        return Judgement(Verdict.ACCEPT, told, (both, share))
    settled = bands.leg_settled.value / 100 * voltage.value
    if plus.value < -settled or minus.value > settled:
        return Judgement(Verdict.STOP, f"{told}: the signs are exchanged", (both, share), (), REVERSED)
    # Half of what lies between steady and whole is left for the meter and for light that changes in between.
    if share.value > 200 - bands.leg_steady.value:
        return no_verdict(
            f"{told}: more than the string has", "read all three voltages once more in the same minutes", both
        )
    fault = fault_position(plus, minus, count)
    joint = round(fault.modules.value)
    predicted = work("predicted at the positive leg", "V", "V_legs * k / N", V_legs=both, k=joint, N=count)
    off = work("off the prediction", "V", "abs(V - V_predicted)", V=plus, V_predicted=predicted)
    found = (Mistake(f"fault to ground {fault.says}", predicted, off),)
    numbers = (both, share, fault.modules)
    if share.value >= bands.leg_steady.value:
        return Judgement(
            Verdict.STOP,
            f"{told}: a steady split",
            numbers,
            found,
            "touch nothing bare; isolate the string and look there",
        )
    return Judgement(
        Verdict.QUESTION,
        f"{told}: a leak, often water",
        numbers,
        found,
        "wait until the readings stand still, measure insulation, repeat dry",
    )


def insulation_basis(open_circuit_stc: Number) -> Quantity:
    """Voltage by which the insulation test of a string is chosen [V].

    Notes
    -----
    Source: IEC 62446-1:2016, 6.7, recalled.

    Examples
    --------
    >>> insulation_basis(408.1).value
    510.1
    """
    factor = quantity_of(standards.number("insulation-test-factor"), "factor of the insulation test")
    return work(
        "basis of the insulation test", "V", "k * V_oc", k=factor, V_oc=quantity(open_circuit_stc, "V")
    )


def judge_insulation(
    resistance: Number,
    test_voltage: Number | None,
    open_circuit_stc: Number,
    *,
    dry: bool = False,
    bands: Bands | None = None,
) -> Judgement:
    """Insulation resistance of both legs to ground.

    Parameters
    ----------
    resistance : float or Quantity
        As read. [MΩ]
    test_voltage : float, Quantity or None
        Of that measurement. [V]
    open_circuit_stc : float or Quantity
        Of the string at standard test conditions. [V]
    dry : bool
        True for a repeat in dry weather, which the standard's least alone decides.
    bands : Bands, optional
        The common practice stands in.

    Notes
    -----
    Source: IEC 62446-1:2016, Table 1, recalled.
    """
    bands, ohms = bands or common_bands(), quantity(resistance, "Mohm")
    if bad := not_a_number(ohms):
        return bad
    basis = insulation_basis(open_circuit_stc)
    try:
        asked = standard_equipment.insulation_test(basis.value)
    except OutsideTable as outside:
        return no_verdict(f"no test is tabled: {outside}", "ask the module maker", basis)
    volts = quantity_of(asked.test, "test voltage")
    least = quantity_of(asked.least, "least insulation resistance")
    numbers = (basis, volts, least)
    if test_voltage is None:
        return no_verdict("the test voltage is not stated", f"measure at {volts.show(0)}", *numbers)
    used = quantity(test_voltage, "V")
    if bad := not_a_number(used):
        return bad
    told = f"{ohms.show()} at {used.show(0)}"
    # Weak insulation fails at any voltage; sound insulation is proved at the full one alone.
    if ohms.value < least.value:
        return Judgement(
            Verdict.STOP, f"{told}, below {least.show()}", numbers, (), "find the damage before landing"
        )
    if used.value < volts.value:
        return no_verdict(f"{told}, the test asks {volts.show(0)}", f"repeat at {volts.show(0)}", *numbers)
    if ohms.value >= bands.insulation_good.value or dry:
        return Judgement(Verdict.ACCEPT, told, numbers)
    return Judgement(
        Verdict.QUESTION, f"{told}, below {bands.insulation_good.show()}", numbers, (), "repeat dry"
    )


def judge_continuity(resistance: Number, bands: Bands | None = None) -> Judgement:
    """Resistance of a bond from frame to bar, the leads nulled [Ω]."""
    bands, ohms = bands or common_bands(), quantity(resistance, "ohm")
    if bad := not_a_number(ohms):
        return bad
    if ohms.value < 0:
        return no_verdict(f"{ohms.show()}: below nothing", "null the leads and read once more")
    if ohms.value <= bands.continuity_good.value:
        return Judgement(Verdict.ACCEPT, ohms.show())
    if ohms.value <= bands.continuity_stop.value:
        return Judgement(Verdict.QUESTION, ohms.show(), (), (), "null the leads and read once more")
    return Judgement(Verdict.STOP, ohms.show(), (), (), "find the loose or painted joint")
