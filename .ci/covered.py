"""Say how much of the lines and branches was tried; 1 when too little of what decides was."""

import json
import sys
from pathlib import Path

#: What decides about a flight, and how much of it must be tried, percent.
DECIDES = ("rvsmlog/rules/", "rvsmlog/facts.py", "rvsmlog/findings.py", "rvsmlog/verdict.py")
LEAST = 95.0


def share(files: list[dict[str, list[object]]]) -> float:
    """Give the share of lines and branches that were tried, percent; none tried is nothing."""
    tried = sum(len(each[f"executed_{sort}"]) for each in files for sort in ("lines", "branches"))
    missed = sum(len(each[f"missing_{sort}"]) for each in files for sort in ("lines", "branches"))
    return 100 * tried / (tried + missed) if tried else 0.0


def main() -> int:
    """Print what was missed in what decides, and the shares."""
    files = json.loads(Path(sys.argv[1]).read_text("utf-8"))["files"]
    decides = {name: each for name, each in files.items() if name.startswith(DECIDES)}
    for name, each in sorted(decides.items()):
        ways = ", ".join(f"{a}->{b or 'exit'}" for a, b in each["missing_branches"])
        if each["missing_lines"] or ways:
            print(f"{name}: lines {each['missing_lines']}, branches {ways or 'all'}")
    print(f"all: {share(list(files.values())):.1f} %")
    print(f"what decides: {share(list(decides.values())):.1f} %, at least {LEAST:.0f} %")
    return 0 if share(list(decides.values())) >= LEAST else 1


if __name__ == "__main__":
    sys.exit(main())
