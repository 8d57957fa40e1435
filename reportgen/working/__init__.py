"""Numbers that remember where they come from: units, quantities, and formulas with their working."""
