"""The jobs that are recorded: what the scripted technician does otherwise than the screen asks, and what it must show.

`not_met` are the numbers of the questions whose answer must be "not met", and no others.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.host.rehearsal import Slip


@dataclass(frozen=True)
class Recorded:
    """One job. `note` is what a reader of the folder is told; `faults` are switched on at the truck."""

    name: str
    title: str
    note: str
    slips: tuple[Slip, ...] = ()
    faults: tuple[str, ...] = ()
    not_met: tuple[int, ...] = ()


JOBS = (
    Recorded(
        "eight-passes-clean",
        "Eight passes as the procedure says",
        "Nothing went wrong and nothing was left out of what the screen asked. The job was finished and not released.",
    ),
    Recorded(
        "eight-passes-disputed",
        "Eight passes, four of them disputed",
        "The customer says that the pedal is soft. Pass p3 was run with the feed at 1.6 bar; at p4 the nipple was "
        "opened 5 s into a run of 10 s; the run of p5 was stopped after 5 s and accepted; p8 was taken before p7.",
        slips=(
            Slip("low pressure", "p3", "1.6 bar"),
            Slip("open late", "p4", "5"),
            Slip("cut short", "p5", "5"),
            Slip("other pass first", "p7", "p8"),
        ),
        not_met=(5, 6, 8, 11, 16, 35),
    ),
)
