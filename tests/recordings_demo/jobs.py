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
    Recorded(
        "nipple-opened-late",
        "One nipple opened late",
        "At p4 the nipple was opened 5 s into a run of 10 s.",
        slips=(Slip("open late", "p4", "5"),),
        not_met=(6, 8),
    ),
    Recorded(
        "run-cut-short",
        "One run cut short",
        "The run of p5 was stopped after 5 of 12 s and accepted as it was.",
        slips=(Slip("cut short", "p5", "5"),),
        not_met=(16,),
    ),
    Recorded(
        "pressure-not-restored",
        "Pressure not restored before one pass",
        "Before p3 the feed stood at 1.6 bar and was not restored.",
        slips=(Slip("low pressure", "p3", "1.6 bar"),),
        not_met=(11, 35),
    ),
    Recorded(
        "passes-swapped",
        "Two passes swapped",
        "p8 was taken before p7.",
        slips=(Slip("other pass first", "p7", "p8"),),
        not_met=(5,),
    ),
    Recorded(
        "torque-too-low",
        "One nipple torqued too low",
        "The nipple of p2 was read at 5 N.m and left so.",
        slips=(Slip("another answer", "p2:torque", "5 N.m"),),
        not_met=(23,),
    ),
    Recorded(
        "overfilled",
        "Reservoir overfilled",
        "The level was read at 690 mL at the end and left so, and the volumes do not account for it.",
        slips=(Slip("another answer", "level", "690 mL"),),
        not_met=(14, 25),
    ),
    Recorded(
        "wrong-fluid",
        "Another fluid than the procedure asks",
        "The container said DOT 3, class 3; the procedure asks for DOT 4, class 4. It was filled in all the same.",
        slips=(Slip("another answer", "fluid-grade", "1"),),
        not_met=(2,),
    ),
    Recorded(
        "old-container",
        "A container that had been open for long",
        "The container had been open for 90 days; 30 are allowed.",
        slips=(Slip("another answer", "container-age", "90 d"),),
        not_met=(3,),
    ),
    Recorded(
        "wheels-too-loose",
        "Wheels torqued too low",
        "The wheels were read at 120 N.m and left so.",
        slips=(Slip("another answer", "wheels", "120 N.m"),),
        not_met=(34,),
    ),
    Recorded(
        "adapter-unplugged",
        "The adapter was pulled off in the middle of a run",
        "3 s into the third run the adapter lost its plug. Nobody saw the run end; it was found at rest before its "
        "time can have been up, and the pass was accepted as it was.",
        faults=("unplugged@3+3",),
        not_met=(16, 20),
    ),
    Recorded(
        "start-refused",
        "The control unit refused a start",
        "The fourth start was refused, and done again.",
        faults=("refusal@4",),
    ),
    Recorded(
        "several-things",
        "Several things at once",
        "The container said DOT 3, class 3, and one of DOT 4, class 4 was fetched before any was poured; the run of p2 "
        "was stopped after 4 s, and the level was left at 690 mL.",
        slips=(
            Slip("another answer", "fluid-grade", "1"),
            Slip("another answer", "fluid-grade", "2"),
            Slip("cut short", "p2", "4"),
            Slip("another answer", "level", "690 mL"),
        ),
        not_met=(14, 16, 25),
    ),
)
