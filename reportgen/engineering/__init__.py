"""The disciplines as pure functions: numbers and table cells in, quantities with their working out.

Nothing here reads a file, knows a clock or prints. Every function takes plain numbers as well as
:class:`~reportgen.working.quantity.Quantity`, so the package is usable on its own.
"""
