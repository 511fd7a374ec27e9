"""Run the benchmarks of speed and growth, one after the other, each against its own floor.

Usage: ``python -m tests.benchmarks [--full] [NAME ...]``. Small sizes take some ten minutes; with
``--full`` they are those of the targets, up to ten million readings: an hour, and 5 GB of the
temporary folder. Each runs in a process of its own and measures its floor in the same run. The
benches that look for faults (``fuzz``, ``faults``, ``tamper``) are run by themselves.
"""

import subprocess
import sys
import time
from collections.abc import Sequence

#: Name on the command line: module, arguments of a short run, arguments of a full one.
BENCHES: dict[str, tuple[str, str, str]] = {
    "startup": ("gonogo_startup", "7", "21"),
    "flat": ("gonogo_flat", "7 100 10000 1000000", "9 100 10000 1000000 10000000"),
    "import": ("import_million", "200000", "1000000"),
    "import-server": ("import_million", "100000 --postgres", "1000000 --postgres"),
    "verify": ("verify_million", "200000", "1000000"),
    "board": ("fleet_board", "300", "1000 10000"),
    "dossier": ("dossier_size", "2000", "10000"),
    "drift": ("drift_million", "200000", "1000000"),
    "growth": ("growth", "100000 1000000", "100000 1000000 10000000"),
}


def main(arguments: Sequence[str]) -> int:
    """Run those named, else all; give 1 when one fell over, 2 when a name is none."""
    full = "--full" in arguments
    chosen = [each for each in arguments if each != "--full"] or list(BENCHES)
    unknown = [each for each in chosen if each not in BENCHES]
    if unknown:
        print(f"no benchmark {', '.join(unknown)}; there are {', '.join(BENCHES)}", file=sys.stderr)
        return 2
    failed = []
    for name in chosen:
        module, *sizes = BENCHES[name]
        words = [f"tests.benchmarks.{module}", *sizes[full].split()]
        print(f"== python -m {' '.join(words)}", flush=True)
        began = time.monotonic()
        if subprocess.run([sys.executable, "-m", *words], check=False).returncode:
            failed.append(name)
        print(f"   {time.monotonic() - began:.0f} s on the clock\n", flush=True)
    if failed:
        print(f"fell over: {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
