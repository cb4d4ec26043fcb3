"""Are the steps in an order in which the work can be done, each with the words and the caution it needs?

A procedure whose shape fits flows in, every mistake flows out. Rules that hold here: what is dangerous carries its
caution at the step itself; what is begun is ended again by a step of its own; a word stands where the audit looks.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator

from witnessmark import quantity
from witnessmark.document.mistake import Mistake, Path
from witnessmark.document.shape import nearest
from witnessmark.procedure.model import MACHINE_ACTS, Procedure, Step
from witnessmark.procedure.steps import STEPS, each_step, words_of
from witnessmark.procedure.words import AFFECTS, DIMENSIONS, FINAL_CHECKS, READINGS

BEFORE, EACH_BEFORE, EACH_AFTER, AFTER = STEPS
DANGEROUS = {
    "made-safe": "what falls, rolls or is under voltage here",
    "wake": "what may move as the vehicle wakes: nipples shut and hands clear",
    "service-mode-on": "what may move or roll then",
    "service-mode-off": "what moves then: hands clear",
    "feed-on": "what the reservoir bears",
    "pressurise": "what the reservoir bears",
    "depressurise": "what sprays while pressure is left",
    "road-test": "when it may be driven at all",
}
"""Words of steps that must carry a caution, and what it is to say."""
MOVED = ("volume", "volume-removed", "volume-in", "volume-drawn")
"""What is read of fluid that went in or out: it may be read again as misread, which a level is not."""
OF_A_VISIT = ("closed", "clear", "torqued", "capped")
ONLY_BEFORE = ("made-safe", "wake", "service-mode-on", "feed-on", "fluid-in-vehicle", "fluid-grade", "fluid-class")
ONLY_AFTER = ("service-mode-off", "feed-off", "level-set", "wheels-torqued", "refitted", "access-clear", "road-test")
PAIRS = (
    ("feed-on", "depressurise", "the feed is fitted and its pressure is never let off"),
    ("feed-on", "feed-off", "the feed is fitted and never taken off"),
    ("service-mode-on", "service-mode-off", "the service mode is entered and never left"),
    ("service-mode-off", "service-mode-on", "the service mode is left and was never entered"),
    ("feed-off", "feed-on", "the feed is taken off and was never fitted"),
)
"""A word, what must be said somewhere besides, and what is wrong where it is not."""
FIRST = (
    ("made-safe", ("empty", "refill", "feed-on", "pressurise", "service-mode-on")),
    ("feed-on", ("pressurise",)),
    ("depressurise", ("feed-off",)),
    ("feed-off", ("road-test",)),
    ("service-mode-off", ("road-test",)),
    ("wheels-torqued", ("road-test",)),
    ("refitted", ("road-test",)),
    ("leak-check", ("road-test",)),
    ("pedal-check", ("road-test",)),
)
"""What comes before what."""
NEEDED = ("made-safe", "depressurise", "torqued", "leak-check", "pedal-check", "service-mode-off")
"""What is never left out with a reason."""
MEANT = 0.8
"""How like a known word one has to be to be taken for it misspelt: a choice of this project, no source."""


SAFE_QUESTION, FINAL_QUESTION = "36", "26"


def handwork(procedure: Procedure) -> Iterator[Mistake]:
    """Return everything in the steps that cannot be worked, or that leaves a person without a warning."""
    yield from _safe(procedure)
    yield from _final(procedure)
    for path, step in each_step(procedure):
        yield from _act(step, path)
        yield from _words(step, path)
        yield from _choices(step, path)
    yield from _places(procedure)
    yield from _ends(procedure)
    yield from _sequence(procedure)
    yield from _level(procedure)
    yield from _twice(procedure)


def _safe(procedure: Procedure) -> Iterator[Mistake]:
    """Nobody works on a vehicle that no step makes safe."""
    said = any("made-safe" in words_of(step) for _, step in each_step(procedure))
    left = any(one.question == SAFE_QUESTION for one in procedure.leaves_out)
    if not said and not left:
        hint = 'give a step with affects = "made-safe", or leave it out: [[leaves_out]] with question = "36" and why'
        yield Mistake((BEFORE,), "no step makes the vehicle safe to work on", hint)


def _final(procedure: Procedure) -> Iterator[Mistake]:
    """Nobody is given a vehicle back at which nobody looked when the work was done."""
    said = {word for step in procedure.steps_after for word in words_of(step)}
    missing = [word for word in FINAL_CHECKS if word not in said]
    left = any(one.question == FINAL_QUESTION for one in procedure.leaves_out)
    meant = difflib.get_close_matches
    missing = [word for word in missing if not meant(word, said - AFFECTS.keys(), n=1, cutoff=MEANT)]
    if missing and not left:
        names = " and no ".join(word.replace("-", " ") for word in missing)
        hint = (
            f'give a step with affects = "{missing[0]}", or leave it out: [[leaves_out]] with question = "26" and why'
        )
        yield Mistake((AFTER,), f"there is no {names} after the passes", hint)


def _act(step: Step, path: Path) -> Iterator[Mistake]:
    reads = step.act in ("read", "volume")
    for key in ("what", "unit", "limit"):
        if getattr(step, key) and not reads:
            yield Mistake((*path, key), f"nothing is read at this step: its act is {step.act}", 'write act = "read"')
    if step.instrument and not reads:
        yield Mistake((*path, "instrument"), "an instrument is named and nothing is read", "give act, what and unit")
    if step.act in MACHINE_ACTS:
        for key in ("affects", "also", "choices", "person", "whole_pass"):
            if getattr(step, key):
                yield Mistake((*path, key), f"{step.act} is done by the machine", "make it a step of its own")
    kind = READINGS.get(step.what, "")
    unit = next((name for name, units in DIMENSIONS.items() if step.unit in units), "")
    if step.act == "volume" and (kind or unit) != "volume" and step.unit in quantity.UNITS:
        yield Mistake((*path, "act"), f"{step.what or step.unit} is no volume", 'write act = "read"')
    if step.act == "read" and step.what in MOVED:
        yield Mistake((*path, "act"), f"{step.what} is a volume that moved, to be summed", 'write act = "volume"')
    if reads and step.what and step.what not in READINGS and not step.what.startswith("x-"):
        hint = nearest(step.what, list(READINGS)) + "; a word of your own begins with x-"
        yield Mistake((*path, "what"), f"{step.what!r} is not known", hint)


def _words(step: Step, path: Path) -> Iterator[Mistake]:
    said = words_of(step)
    for index, word in enumerate(step.also):
        if word in (step.affects, *step.also[:index]):
            yield Mistake((*path, "also", index), f"{word!r} is there twice", "say it once")
    if step.affects == "closed":
        what = "a nipple is closed by the touch that says so besides"
        yield Mistake((*path, "affects"), what, 'write also = ["closed"]')
    wanted = next((DANGEROUS[word] for word in said if word in DANGEROUS), "")
    if wanted and not step.caution:
        at = (*path, "caution")
        yield Mistake(at, "a dangerous step without a caution", f"say {wanted}")
    for word in NEEDED:
        if step.may_skip and word in said:
            yield Mistake((*path, "may_skip"), f"{word} is never left out", "take may_skip out")
    if "wake" in said and step.may_repeat:
        yield Mistake((*path, "may_repeat"), "waking has its own place", "take may_repeat out")


def _choices(step: Step, path: Path) -> Iterator[Mistake]:
    if len(step.choices) == 1:
        yield Mistake((*path, "choices"), "there is nothing to choose from", "give two or more")
    for index, choice in enumerate(step.choices):
        if choice.lower() in [other.lower() for other in step.choices[:index]]:
            yield Mistake((*path, "choices", index), f"{choice!r} is there twice", "name each once")


def _places(procedure: Procedure) -> Iterator[Mistake]:
    """What belongs to a visit, before all visits, or after them stands there."""
    for path, step in each_step(procedure):
        section = path[0]
        for key, word in (("affects", step.affects), *(("also", word) for word in step.also)):
            at: Path = (*path, key) if key == "affects" else (*path, key, step.also.index(word))
            if word in OF_A_VISIT and section != EACH_AFTER and not (word == "closed" and key == "also"):
                yield Mistake(at, f"{word} is said of a nipple", f"put the step under {EACH_AFTER}")
            if word in ONLY_BEFORE and section != BEFORE:
                yield Mistake(at, f"{word} comes before the passes", f"put the step under {BEFORE}")
            if word in ONLY_AFTER and section != AFTER:
                yield Mistake(at, f"{word} comes after the passes", f"put the step under {AFTER}")
        if step.what in ("torque", "volume") and section != EACH_AFTER:
            what = f"{step.what} is read of a nipple"
            yield Mistake((*path, "what"), what, f"put the step under {EACH_AFTER}")
        if step.what == "wheel-torque" and section != AFTER:
            yield Mistake((*path, "what"), "wheels come on after the passes", f"put the step under {AFTER}")
        elif step.what == "wheel-torque" and step.limit is None:
            hint = 'give what the maker publishes, like limit = { low = "120 N.m", high = "140 N.m" }'
            yield Mistake((*path, "limit"), "nothing says how tight the wheels are to be", hint)
        if step.whole_pass and section not in (EACH_BEFORE, EACH_AFTER):
            yield Mistake((*path, "whole_pass"), "this step belongs to no pass", "take whole_pass out")


def _ends(procedure: Procedure) -> Iterator[Mistake]:
    """What is begun is ended, and what is ended was begun."""
    said = {word for _, step in each_step(procedure) for word in words_of(step)}
    misspelt = any(word not in AFFECTS and not word.startswith("x-") for word in said)
    for word, other, what in PAIRS:
        if word in said and other not in said and not misspelt:
            yield Mistake(_first(procedure, word), what, f'give a step with affects = "{other}"')
    asked = any(one.pressure is not None for one in procedure.passes)
    if "pressurise" in said and "depressurise" not in said and "feed-on" not in said:
        at = _first(procedure, "pressurise")
        yield Mistake(at, "its pressure is never let off", 'give a step with affects = "depressurise"')
    if "feed-on" in said and not asked and procedure.pressure_limit is None:
        at = _first(procedure, "feed-on")
        yield Mistake(at, "a feed is fitted and nothing says what it may have", "give pressure_limit")


def _sequence(procedure: Procedure) -> Iterator[Mistake]:
    order = {path: place for place, (path, _) in enumerate(each_step(procedure))}
    for word, later in FIRST:
        mine = [path for path, step in each_step(procedure) if word in words_of(step)]
        if not mine:
            continue
        for path, step in each_step(procedure):
            too_early = [other for other in later if other in words_of(step)]
            if too_early and order[path] < order[mine[0]]:
                yield Mistake((*path, "affects"), f"{too_early[0]} comes before {word}", "exchange the two steps")


def _level(procedure: Procedure) -> Iterator[Mistake]:
    """The level is judged where it is read after the last pumping of the pedal."""
    steps = procedure.steps_after
    pumped = [index for index, step in enumerate(steps) if "pedal-pumped" in words_of(step)]
    read = [index for index, step in enumerate(steps) if step.what == "level"]
    if pumped and read and read[-1] < pumped[-1]:
        at: Path = (AFTER, read[-1], "what")
        yield Mistake(at, "the level is read before the pedal is pumped for the last time", "read it after that")


def _twice(procedure: Procedure) -> Iterator[Mistake]:
    """A nipple is closed by one touch of a visit."""
    closing = [index for index, step in enumerate(procedure.steps_after_each_pass) if "closed" in step.also]
    for index in closing[1:]:
        at: Path = (EACH_AFTER, index, "also")
        yield Mistake(at, "the nipple was closed at a step before", "say it at one step")


def _first(procedure: Procedure, word: str) -> Path:
    for path, step in each_step(procedure):
        if word in words_of(step):
            return (*path, "affects") if step.affects == word else (*path, "also", step.also.index(word))
    return ()
