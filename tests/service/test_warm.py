"""The parent's main program is run once by the fork server, and not again by each child."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

PROGRAM = """
from pathlib import Path

LOG = Path(__file__).with_name("log")
with LOG.open("a") as log:
    log.write(__name__ + "\\n")
{failure}

from reportgen.service.job import Job
from reportgen.service.snapshot import Snapshot

if __name__ == "__main__":
    for number in range(3):
        job = Job("service_fakes:build", Snapshot.of({{}}), {{"log": str(LOG)}}, preload=())
        job.wait()
        assert job.result.ending == {ending!r}, job.result
"""


@pytest.mark.parametrize(
    ("failure", "ending", "runs"),
    [
        ("", "built", 2),
        # What fails outside the parent fails in the server without harm; each child then tries, and says so.
        ('assert __name__ == "__main__"', "crashed", 5),
    ],
)
def test_main_program_is_run_once_for_all_children(
    tmp_path: Path, failure: str, ending: str, runs: int
) -> None:
    program, log = tmp_path / "program.py", tmp_path / "log"
    program.write_text(PROGRAM.format(failure=failure, ending=ending))
    path = os.pathsep.join((str(Path(__file__).parents[2]), str(Path(__file__).parent)))
    subprocess.run([sys.executable, program], env={**os.environ, "PYTHONPATH": path}, check=True)
    begun = [line for line in log.read_text().splitlines() if line.startswith("__")]
    assert begun == ["__main__"] + ["__mp_main__"] * (runs - 1)
