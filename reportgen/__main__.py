"""``python -m reportgen``: the same as the command."""

from reportgen.cli import main

main()
