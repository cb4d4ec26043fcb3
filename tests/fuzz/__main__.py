"""`make fuzz`: every target, two million inputs in all, the same ones for the same `--seed`. Exits with 1 on a find."""

from __future__ import annotations

import argparse
import sys
import time

from tests.fuzz.campaign import run, shares, targets


def main(arguments: list[str]) -> int:
    """Run the campaign and print its figures, a line for each target."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--count", type=int, default=2_000_000, help="inputs in all, at least")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--target", default="", help="only targets whose name contains this")
    options = parser.parse_args(arguments)
    given = [target for target in targets() if options.target in target.name]
    if not given:
        print(f"no target has {options.target!r} in its name", file=sys.stderr)
        return 2
    began = time.perf_counter()
    total, finds = 0, []
    for target, count in zip(given, shares(given, options.count), strict=True):
        start = time.perf_counter()
        found = run(target, count, options.seed)
        spent = time.perf_counter() - start
        total += count
        finds += found
        said = "FOUND" if found else "nothing"
        print(f"{target.name:<40} {count:>10,} inputs {count / spent:>10,.0f}/s  {said}", flush=True)
    for find in finds:
        print(f"\n{find.target} on {find.data.hex()}\n{find.trace}")
    print(f"{total:,} inputs, {len(given)} targets, {len(finds)} finds, {time.perf_counter() - began:.0f} s")
    return 1 if finds else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
