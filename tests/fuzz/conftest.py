"""Where the modules lie that the tests of this folder share with others."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "engineering" / "energy")]

# Run by hand and by .ci/long, with a library that is not among the test extras.
collect_ignore = ["guided.py"]
