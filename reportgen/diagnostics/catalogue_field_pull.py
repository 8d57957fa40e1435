"""Codes of the findings on pulling wire and on cutting it."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry, finding

ENTRIES: tuple[Entry, ...] = (
    finding(
        "pull-tension",
        "tension of a pull",
        None,
        "Compares the greatest tension of a pull, fed from the better end, with what the metal of the conductors, the grip and the user allow.",
        "A pipe may be legally full and still impossible to pull through. Bends multiply the tension, friction decides how much.",
        "Put a further pull point where the pull plan says it helps most, use lubricant, wider bends or lighter wire. Where it is unknown, state the masses in `cables`, the friction in `stock`, and every bend of the run.",
        "stock:\n  friction_dry: 0.5\n  friction_lubricated: 0.25\n  tension_limit: 300 lbf",
    ),
    finding(
        "pull-line",
        "tension of a pull against its line",
        None,
        "Compares the greatest tension of a pull with the working load of the pull line.",
        "A line that parts two thirds through leaves the wires stuck, and whips back at whoever pulls.",
        "State the working load printed on the line, and take a stronger one where it is not enough.",
        "stock: {line_rating: 2.2 kN}",
    ),
    finding(
        "pull-sidewall",
        "pressure on the wall of a bend",
        None,
        "Compares tension over radius at the exit of each bend with the pressure that the cable maker allows.",
        "In a tight bend the wires are crushed against the wall long before they are torn.",
        "Use wider bends, lubricant, or a further pull point; feed from the end where the bends come first.",
        "stock: {sidewall_limit: 300 lbf/ft}",
    ),
    finding(
        "pull-over-wires",
        "wires that stay in the pipe during a pull",
        None,
        "Tells where new wires are pulled into a pipe that existing ones stay in.",
        "Wires that slide over each other saw through insulation, and no figure of friction holds for them.",
        "Draw the old wires out first, use them as the pull line only if they are scrap, and pull everything as one bundle.",
    ),
    finding(
        "cut-length",
        "length to cut",
        None,
        "Works out the length to cut of every new wire, and compares the longest with the longest spool on offer.",
        "A wire that ends a metre before its terminal is scrap, and a splice in a pipe is not allowed.",
        "State tails, head and trim, measure lengths that do not add up again, and offer a spool that holds the longest piece.",
        "stock:\n  head: 1.2 m\n  trim: 1 m\n  spools:\n    S300: {cable: THWN10, size: 10 AWG, length: 300 m}",
    ),
    finding(
        "cut-spools",
        "spools to buy",
        None,
        "Chooses the spools to buy and what is cut from each, with the least length bought, or the least cost where every price is stated.",
        "Cut in the wrong order, the last piece is found to be too long for what is left. A check leaves the choice to a build.",
        "Offer more spools, or longer ones.",
    ),
    finding(
        "cut-spare",
        "what stays on a spool against the tolerance of its lengths",
        None,
        "Compares what is left on each spool with how far the measured lengths of its pieces may be off.",
        "A spool of 500 ft holds a piece of 498 ft on paper; a tape that is off by one per cent needs five more.",
        "Buy a longer spool, or measure the run again before it is cut.",
    ),
)
