"""Runs every benchmark of this folder, one after the other, and says which failed. `make bench`."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path


def main() -> int:
    """Exit 1 when one of them failed; the others are run all the same."""
    failed = []
    for path in sorted(Path(__file__).parent.glob("bench_*.py")):
        print(f"\n== {path.name}", flush=True)
        began = time.perf_counter()
        if subprocess.run([sys.executable, str(path)], check=False).returncode != 0:
            failed.append(path.name)
        print(f"-- {path.name}: {time.perf_counter() - began:.0f} s", flush=True)
    if failed:
        print("failed: " + ", ".join(failed))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
