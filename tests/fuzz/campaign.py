"""Runs targets on mutated inputs. A target is a function `target_*` of a module `targets_*.py` here; `SEEDS` of its
module has inputs worth mutating, by the target's name. What a target raises is a find."""

from __future__ import annotations

import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

from tests.fuzz.mutate import inputs

_TRIED = 200


@dataclass(frozen=True, slots=True)
class Target:
    """What is called, and what it is fed with."""

    name: str
    call: Callable[[bytes], None]
    seeds: Sequence[bytes]


@dataclass(frozen=True, slots=True)
class Find:
    """An input that made a target raise, and how."""

    target: str
    data: bytes
    trace: str


def targets() -> list[Target]:
    """Return all targets, sorted by name."""
    found = []
    for path in sorted(Path(__file__).parent.glob("targets_*.py")):
        module = import_module(f"tests.fuzz.{path.stem}")
        seeds = getattr(module, "SEEDS", {})
        for name in dir(module):
            if name.startswith("target_"):
                found.append(
                    Target(f"{path.stem.removeprefix('targets_')}.{name}", getattr(module, name), seeds.get(name, ()))
                )
    return sorted(found, key=lambda target: target.name)


def shares(given: Sequence[Target], count: int) -> list[int]:
    """Split `count` inputs so that slow targets get fewer, but no target less than a tenth of its even share."""
    costs = []
    for target in given:
        start = time.perf_counter()
        run(target, _TRIED, 0)
        costs.append(time.perf_counter() - start)
    least = count // len(given) // 10
    free = count - least * len(given)
    total = sum(1 / cost for cost in costs)
    return [least + round(free / cost / total) + 1 for cost in costs]


def run(target: Target, count: int, seed: int) -> list[Find]:
    """Feed a target with `count` inputs; stop at the first find."""
    for data in inputs(target.name, target.seeds, count, seed):
        try:
            target.call(data)
        except Exception:  # noqa: BLE001 - whatever it is, it is the find
            return [Find(target.name, data, traceback.format_exc())]
    return []
