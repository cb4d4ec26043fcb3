"""`make fault`: every campaign whole, each with its figures. Ends with an error when one does not hold.

`python -m tests.fault [--seed N] [--only WORD] [--count N]` runs those whose name has the word, so often.
"""

from __future__ import annotations

import argparse

from tests.fault import adapters, damage, job, kill, limits

CAMPAIGNS = (
    ("SIGKILL while appending", kill.run, 500),
    ("damaged files", damage.run, 1000),
    ("full disk, read-only, two writers", limits.run, 500),
    ("SIGKILL of a job's runner", job.run, 500),
    ("every fault on every adapter", adapters.run, 1),
)
"""What it is called, the campaign (count, seed -> lines), and how often."""


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.fault")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="a word of the campaign's name")
    parser.add_argument("--count", type=int, default=0, help="how often instead")
    asked = parser.parse_args()
    for name, run, count in CAMPAIGNS:
        if asked.only not in name:
            continue
        print(f"{name} (seed {asked.seed})")
        for line in run(asked.count or count, asked.seed):
            print(f"  {line}", flush=True)


if __name__ == "__main__":
    main()
