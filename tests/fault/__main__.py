"""`make fault`: every campaign whole, each with its figures. Ends with an error when one does not hold."""

from __future__ import annotations

import sys

from tests.fault import damage, kill, limits

CAMPAIGNS = (
    ("SIGKILL while appending", kill.run, 500),
    ("damaged files", damage.run, 1000),
    ("full disk, read-only, two writers", limits.run, 500),
)
"""What it is called, the campaign (count, seed -> lines), and how often."""


def main() -> None:
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    for name, run, count in CAMPAIGNS:
        print(f"{name} (seed {seed})")
        for line in run(count, seed):
            print(f"  {line}", flush=True)


if __name__ == "__main__":
    main()
