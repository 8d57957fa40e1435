"""Where the modules lie that the tests of this folder share with others."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "engineering" / "energy")]
