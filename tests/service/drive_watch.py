"""A watcher as a process of its own: what a command does, with events printed as JSON lines."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from service_fakes import QUICK

from reportgen.service.events import WatchEvent
from reportgen.service.lock import AlreadyWatched
from reportgen.service.recipe import Recipe
from reportgen.service.watch import watch


def main(root: str, target: str, log: str, slow_s: str) -> int:
    def tell(event: WatchEvent) -> None:
        sys.stdout.write(json.dumps({"kind": event.kind, "message": event.message}) + "\n")
        sys.stdout.flush()

    recipe = Recipe("1", "t", "service_fakes:build", {"log": log, "slow_s": float(slow_s)}, preload=())
    try:
        return watch(Path(root), Path(target), recipe, tell, timing=QUICK)
    except AlreadyWatched as busy:
        sys.stderr.write(f"{busy}\n")
        return busy.exit_code


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
