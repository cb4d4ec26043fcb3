"""Questions 2, 3, 14 and 15, the fluid: each of their answers from a small timeline."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from tests.audit.jobs import Job, edit
from tests.audit.procedures import visited, whole
from tests.audit.shipped import ask

from witnessmark.audit.fluid.containers import NOBODY
from witnessmark.procedure.model import Procedure

DRAW = """
[[steps_before]]
id = "draw"
text = "Draw the old fluid out"
act = "volume"
what = "volume-removed"
unit = "mL"

[pump]"""
DRAWN = edit(("[pump]", DRAW), ("pressure_limit =", 'balance_tolerance = "30 mL"\npressure_limit ='))
PLAIN = edit(('fluid = "DOT 4"', ""))


def said(*words: tuple[str, str]) -> Job:
    job = whole()
    for affects, text in words:
        job.step("container", 5, affects, answer=text)
    return job


def labels(*acts: str) -> Job:
    """Return a job in which labels were read in turn, filled in between at `+`, and a nipple opened at `o`."""
    job = Job(scope="nipples fl")
    for index, act in enumerate(acts):
        at = 5.0 + 10 * index
        if act == "+":
            job.read("volume-in", "200 mL", at)
        elif act == "o":
            job.open("fl", "p4", at)
        elif act:
            job.step("grade", at, "fluid-grade", answer=act)
        else:
            job.step("grade", at, "fluid-grade", act="skipped", said="no label")
    return job


def volumes(removed: str, filled: str, through: str, drawn: str, *levels: str) -> Job:
    job = whole()
    for level in levels[:1]:
        job.read("level", level, 1)
    job.read("volume-removed", removed, 2)
    job.read("volume-in", filled, 5).open("fl", "p4", 100).close("fl", 130, "p4")
    job.read("volume", through, 140, pass_id="p4").read("volume-drawn", drawn, 200)
    return job.read("level", levels[-1], 210) if len(levels) > 1 else job


def misread(mended: str = "misread: nothing more ran", of: str = "bottle", again: str = "150 mL") -> Job:
    """Return a job whose bottle was read far too full; it was said that it was misread, and it was read again."""
    job = whole().read("level", "500 mL", 2).read("volume-in", "300 mL", 5)
    job.open("fl", "p4", 100).close("fl", 130, "p4")
    job.read("volume", "900 mL", 140, pass_id="p4", step="bottle")
    job.step("put-right", 145, act="confirmed", pass_id="p4", answer=of, mended=mended)
    if again:
        job.read("volume", again, 150, pass_id="p4", step="bottle")
    return job.read("volume-drawn", "150 mL", 200).read("level", "500 mL", 210)


def spilled() -> Job:
    """Return a job whose bottle was spilled before it was read."""
    job = whole().read("volume-in", "300 mL", 5).open("fl", "p4", 100).close("fl", 130, "p4")
    return job.step("bottle", 140, act="skipped", pass_id="p4", said="it was spilled").read("volume-drawn", "9 mL", 200)


def drawn_off() -> Job:
    """Return a job whose procedure has the old fluid drawn out first, and whose volumes balance without it."""
    job = Job(DRAWN, scope="nipples fl").read("level", "500 mL", 2).read("volume-in", "300 mL", 5)
    job.open("fl", "p4", 100).close("fl", 130, "p4").read("volume", "150 mL", 140, pass_id="p4")
    return job.read("volume-drawn", "150 mL", 200).read("level", "500 mL", 210)


SET = """
[[steps_after]]
id = "topped-up"
text = "Set the level"
act = "volume"
what = "volume-in"
unit = "mL"
affects = "level-set"

[pump]"""
LEVELLED = edit(("[pump]", SET), ("pressure_limit =", 'balance_tolerance = "30 mL"\npressure_limit ='))


def levelled(*said: tuple[str, str], levels: str = "500 mL") -> Job:
    """Return a job whose level stood too high at the end, with what was read at the step that sets it."""
    job = Job(LEVELLED, scope="nipples fl")
    job = job.read("level", "500 mL", 2) if levels else job
    job.read("volume-in", "400 mL", 5, affects="refill").open("fl", "p4", 100).close("fl", 130, "p4")
    job.read("volume", "206 mL", 140, pass_id="p4")
    for what, amount in said:
        job.read(what, amount, 200, step="topped-up", affects="level-set")
    return job.read("level", levels, 210) if levels else job


@pytest.mark.parametrize(
    ("job", "answer"),
    [
        (levelled(("volume-drawn", "194 mL")), "met"),
        (levelled(("volume-in", "0 mL")), "not met"),
        (levelled(), "no proof"),
        (levelled(("volume-drawn", "194 mL"), levels=""), "no proof"),
    ],
    ids=["drawn off", "said that nothing was", "not said", "level not read"],
)
def test_what_was_drawn_off_to_set_the_level_counts_in_the_balance(job: Job, answer: str) -> None:
    found = next(one for one in ask(14, job).details if one.subject == "balance")
    assert found.answer == answer, found.text


@pytest.mark.parametrize(("waste_at", "answer"), [(190, "met"), (205, "no proof")])
def test_what_is_drawn_off_after_the_waste_was_read_is_not_yet_in_it(waste_at: float, answer: str) -> None:
    job = Job(LEVELLED, scope="nipples fl").read("level", "500 mL", 2).read("volume-in", "400 mL", 5, affects="refill")
    job.open("fl", "p4", 100).close("fl", 130, "p4").read("volume", "206 mL", 140, pass_id="p4")
    for at in sorted((waste_at, 200.0)):
        drawn = at == 200.0
        job.read("volume-drawn" if drawn else "waste", "194 mL" if drawn else "210 mL", at, step="topped-up")
    job.read("level", "500 mL", 210)
    assert next(one for one in ask(14, job).details if one.subject == "balance").answer == answer


@pytest.mark.parametrize(
    ("amounts", "answer"),
    [(("80 mL", "60 mL"), "met"), (("150 mL", "160 mL"), "met"), (("40 mL", "30 mL"), "not met"),
     (("80 mL", "210 mL"), "not met")],
)  # fmt: skip
def test_bottles_of_a_pass_done_again_count_together_and_none_may_hold_too_much(
    amounts: Sequence[str], answer: str
) -> None:
    job = whole()
    for at, amount in zip((100.0, 200.0), amounts, strict=True):
        job.open("fl", "p4", at).close("fl", at + 30, "p4").read("volume", amount, at + 40, pass_id="p4", step="bottle")
    found = next(one for one in ask(14, job).details if one.subject == "p4")
    assert found.answer == answer, found.text
    assert "in 2 bottles" in found.text


ASKED = edit(('nipples = ["fl"]', 'nipples = ["fl"]\nvolume = { low = "50 mL" }'))


def twice(*, read_first: bool, second: str) -> Job:
    """Return a job of front left by hand, where 120 mL ran, to be done again, and a second volume ran then."""
    job = Job(ASKED, scope="nipples fl").open("fl", "p4", 100).close("fl", 130, "p4")
    job = job.read("volume", "120 mL", 140, pass_id="p4") if read_first else job
    job.step("run-again", 150, pass_id="p4", said="bubbles").open("fl", "p4", 200).close("fl", 230, "p4")
    return job.read("volume", second, 240, pass_id="p4") if second else job


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (twice(read_first=True, second="60 mL"), "met", ""),
        (
            twice(read_first=True, second="10 mL"),
            "not met",
            "p4: 10 mL collected, asked at least 50 mL; 120 mL before it was to be done again (entry 4)",
        ),
        (
            twice(read_first=True, second=""),
            "no proof",
            "no volume recorded, asked at least 50 mL; 120 mL before it was",
        ),
        (twice(read_first=False, second="130 mL"), "no proof", "holds what ran before it was to be done again too"),
    ],
    ids=["enough", "too little", "not read", "in one bottle"],
)
def test_of_a_visit_done_again_what_ran_since_is_held_to_what_is_asked_and_both_are_named(
    job: Job, answer: str, text: str
) -> None:
    finding = ask(14, job)
    assert (finding.answer, text in finding.text) == (answer, True), finding.text
    if job.last() == 7:
        assert set(finding.cites) == {3, 4, 7} and "120 mL before" in finding.details[0].text


def test_a_visit_done_again_at_which_nothing_was_collected_is_not_served_by_what_ran_before() -> None:
    assert ask(4, twice(read_first=True, second="0 mL")).answer == "no proof"
    assert ask(4, twice(read_first=True, second="10 mL")).answer == "met"


@pytest.mark.parametrize(("second", "answer"), [("400 mL", "not met"), ("90 mL", "met")])
def test_nipples_of_one_pass_opened_one_after_the_other_share_what_it_asks_for(second: str, answer: str) -> None:
    band = 'nipples = ["rr", "fl"]\nvolume = { low = "100 mL", high = "500 mL" }\nwire'
    job = Job(edit(('nipples = ["rr"]\nwire', band)), scope="nipples rr")
    for at, nipple, amount in ((100.0, "rr", "400 mL"), (150.0, "fl", second)):
        job.open(nipple, "p1", at).close(nipple, at + 30, "p1").read(
            "volume", amount, at + 40, pass_id="p1", nipple=nipple
        )
    found = next(one for one in ask(14, job).details if one.subject == "p1")
    assert (found.answer, "bottles" in found.text) == (answer, False), found.text


IN_IT = edit(
    (
        "[pump]",
        '[[steps_before]]\nid = "in-it"\ntext = "Cap"\nact = "check"\naffects = "fluid-in-vehicle"\n\n[pump]',
    )
)


def in_it(*answers: str, poured: str = "DOT 4") -> Job:
    """Return a job whose procedure asks what was in the vehicle; the container says `poured`."""
    job = Job(IN_IT)
    for answer in answers:
        job.step("in-it", 2, "fluid-in-vehicle", act="confirmed", answer=answer)
    return job.step("grade", 5, "fluid-grade", answer=poured) if poured else job


def one_bottle(*, read: bool = True) -> Job:
    """Return two visits whose fluid ran into one bottle, read with the second."""
    together = edit(
        ('nipples = ["rl"]', 'nipples = ["rl"]\nbottle_with = "p3"'),
        ("pressure_limit =", 'reservoir = "500 mL"\npressure_limit ='),
    )
    job = Job(together, scope="nipples rl,fr").read("volume-in", "600 mL", 5)
    job.open("rl", "p2", 100).close("rl", 130, "p2").open("fr", "p3", 200).close("fr", 230, "p3")
    return job.read("volume", "200 mL", 240, pass_id="p3") if read else job


def two_spilled(
    filled: str = "", affects: str = "", *, again: bool = False, redone: Sequence[tuple[str, str]] = ()
) -> Job:
    """Return three visits of which the first two ran into one bottle that was spilled, and the last one was read.

    With `again` it was read all the same; the nipples and passes `redone` were opened once more, and 60 mL read then.
    """
    together = edit(
        ('nipples = ["rl"]', 'nipples = ["rl"]\nbottle_with = "p3"'),
        ("pressure_limit =", 'reservoir = "800 mL"\nbalance_tolerance = "40 mL"\npressure_limit ='),
        (
            "[pump]",
            '[[steps_after_each_pass]]\nid = "bottle"\ntext = "Read the bottle"\nact = "volume"\nwhat = "volume"\n'
            'unit = "mL"\nwhole_pass = true\n\n[pump]',
        ),
    )
    job = Job(together, scope="nipples rl,fr,fl").read("volume-in", "800 mL", 5, affects="refill")
    job.open("rl", "p2", 100).close("rl", 130, "p2").open("fr", "p3", 200).close("fr", 230, "p3")
    job.step("bottle", 240, act="skipped", pass_id="p3", said="it was spilled")
    if again:
        job.read("volume", "90 mL", 245, pass_id="p3", step="bottle")
    if filled:
        job.read("volume-in", filled, 250, affects=affects)
    job.open("fl", "p4", 300).close("fl", 330, "p4").read("volume", "273 mL", 340, pass_id="p4", step="bottle")
    for index, (nipple, pass_id) in enumerate(redone):
        job.open(nipple, pass_id, 350 + 20 * index).close(nipple, 360 + 20 * index, pass_id)
    if redone:
        job.read("volume", "60 mL", 395, pass_id="p3", step="bottle")
    return job.read("level", "500 mL", 400)


P3 = (("fr", "p3"),)
BOTH = (("rl", "p2"), ("fr", "p3"))


def containers(opened: int, aged: int) -> Job:
    """Return a job in which so many containers were read and filled from, and so many ages entered."""
    job = whole()
    for index in range(opened):
        job.step("grade", 10 + 50 * index, "fluid-grade", answer="DOT 4")
        if index < aged:
            job.read("container-age", "3 d", 20 + 50 * index)
        job.read("volume-in", "200 mL", 30 + 50 * index)
    return job


def filled_up(amount: str) -> Job:
    """Return a visit of 150 mL after the reservoir was filled up with this amount."""
    job = whole().read("volume-in", amount, 5, affects="refill").open("fl", "p4", 100).close("fl", 130, "p4")
    return job.read("volume", "150 mL", 140, pass_id="p4")


def collected(*amounts: str) -> Job:
    """Return a visit of front left whose bottle was read so often, once after the other."""
    job = whole().read("volume-in", "600 mL", 5).open("fl", "p4", 100).close("fl", 130, "p4")
    for index, amount in enumerate(amounts):
        job.read("volume", amount, 140 + index, pass_id="p4", step="bottle")
    return job


def spilled_beside_one_read(*amounts: str) -> Job:
    """Return two visits after one filling: the bottle of the first was spilled, the second one filled more often."""
    job = two_spilled()
    for index, amount in enumerate(amounts):
        job.read("volume", amount, 341 + index, pass_id="p4", step="bottle")
    return job


def two_bottles(*nipples: str, again: str = "") -> Job:
    """Return a visit to two nipples with a bottle of 80 mL at each of `nipples`; the visit asks for 70 to 250 mL."""
    asked = edit(
        ('nipples = ["rr"]', 'nipples = ["rr", "fl"]\nvolume = { low = "70 mL", high = "250 mL" }'),
    )
    job = Job(asked, scope="follows J0 p1")
    for nipple in nipples:
        job.read("volume", "80 mL", 140, pass_id="p1", nipple=nipple, step="bottle")
    return job.read("volume", again, 150, pass_id="p1", nipple="fl", step="bottle") if again else job


def filled_twice(second: str) -> Job:
    """Return two visits of 400 mL each with a filling before each; the reservoir holds 500 mL."""
    job = whole(scope="nipples rr,rl").read("volume-in", "600 mL", 5)
    job.open("rr", "p1", 100).close("rr", 130, "p1").read("volume", "400 mL", 140, pass_id="p1")
    job.read("volume-in", second, 150).open("rl", "p2", 200).close("rl", 230, "p2")
    return job.read("volume", "400 mL", 240, pass_id="p2")


def filled_before_it_was_read() -> Job:
    """Return two visits of 400 mL; the bottle of the first was read only after the filling that came after it."""
    job = whole(scope="nipples rr,rl").read("volume-in", "600 mL", 5).open("rr", "p1", 100).close("rr", 130, "p1")
    job.read("volume-in", "400 mL", 135).read("volume", "400 mL", 140, pass_id="p1")
    return job.open("rl", "p2", 200).close("rl", 230, "p2").read("volume", "400 mL", 240, pass_id="p2")


def filled_while_open(before: str, collected: str) -> Job:
    """Return two visits; at the second, of this volume, 80 mL were filled in while the nipple was open."""
    job = whole(scope="nipples rr,rl").read("volume-in", "600 mL", 5)
    job.open("rr", "p1", 100).close("rr", 130, "p1").read("volume", before, 140, pass_id="p1")
    job.open("rl", "p2", 200).read("volume-in", "80 mL", 210, affects="refill").close("rl", 230, "p2")
    return job.read("volume", collected, 240, pass_id="p2")


def filled_between_two_visits_of_a_pass() -> Job:
    """Return a visit of 400 mL, a filling, and 300 mL at the same pass again; the reservoir holds 500 mL."""
    job = whole().read("volume-in", "500 mL", 5, affects="refill").open("fl", "p4", 100).close("fl", 130, "p4")
    job.read("volume", "400 mL", 140, pass_id="p4").step("said-refill", 150, "refill").open("fl", "p4", 200)
    return job.close("fl", 230, "p4").read("volume", "300 mL", 240, pass_id="p4")


def wasted(amount: str) -> Job:
    """Return a job that balances: 600 mL came out, and the waste container was read last."""
    job = volumes("300 mL", "610 mL", "150 mL", "150 mL", "500 mL", "510 mL")
    return job.read("waste", amount, 220)


@pytest.mark.parametrize(
    ("number", "job", "answer", "text"),
    [
        (2, said(("fluid-grade", "DOT 4"), ("fluid-class", "class 6")), "met", "DOT 4"),
        (2, said(("fluid-grade", "dot4"), ("fluid-class", "6")), "met", ""),
        (2, said(("fluid-grade", "DOT 5.1"), ("fluid-class", "class 6")), "not met", "the blend ranks as the weaker"),
        (2, said(("fluid-grade", "DOT 5"), ("fluid-class", "class 6")), "not met", "these never mix"),
        (2, said(("fluid-grade", "mineral oil"), ("fluid-class", "class 6")), "not met", "these never mix"),
        (2, said(("fluid-grade", "DOT 4"), ("fluid-class", "class 4")), "not met", "class 4, asked class 6"),
        (2, said(("fluid-grade", "DOT 4")), "no proof", "class: no entry"),
        (2, said(("fluid-grade", "DOT 4, class 6")), "met", ""),
        (2, said(("fluid-grade", "DOT 4, class 4")), "not met", "class 4, asked class 6"),
        (2, said(("fluid-grade", "")), "no proof", "nothing entered"),
        (2, said(("fluid-grade", "blue stuff"), ("fluid-class", "class 6")), "no proof", "not understood"),
        (2, labels("DOT 3", "DOT 4"), "met", "DOT 3 (entry 1) was read before and put right before any was poured"),
        (2, labels("", "DOT 4"), "not met", "left out: no label"),
        (2, labels("DOT 4", "DOT 3"), "not met", "the container says DOT 3, asked DOT 4"),
        (2, labels("DOT 3", "+", "DOT 4"), "not met", "the container says DOT 3, asked DOT 4"),
        (2, labels("DOT 3", "o", "DOT 4"), "not met", "the container says DOT 3, asked DOT 4"),
        (2, labels("DOT 4", "+", "DOT 3", "DOT 4"), "met", "DOT 3 (entry 3) was read before"),
        (2, labels("DOT 4", "+", "DOT 3"), "not met", "the container says DOT 3, asked DOT 4"),
        (2, whole(), "no proof", "grade: no entry"),
        (2, whole().step("container", 5, "fluid-grade", act="skipped", said="label gone"), "not met", "label gone"),
        (2, in_it("DOT 4"), "met", "DOT 4 was in it, DOT 4 went in"),
        (2, in_it("DOT 3"), "met", "they mix, and where old fluid is left the blend ranks as DOT 3"),
        (2, in_it("DOT 5.1"), "met", "the blend ranks as DOT 4"),
        (2, in_it("DOT 5 (silicone)"), "not met", "DOT 5 was in it, DOT 4 went in: these never mix"),
        (2, in_it("mineral"), "not met", "these never mix"),
        (
            2,
            in_it("mineral").step("mixing-allowed", 6, act="confirmed", said="tested", by="person:l-heron"),
            "not met",
            "these never mix; l-heron went on as lead: tested",
        ),
        (2, in_it("mineral", "DOT 4"), "met", "DOT 4 was in it"),
        (2, in_it("not known"), "no proof", "nobody knows what was in the vehicle: not known"),
        (2, in_it(), "no proof", "no entry of what was in the vehicle"),
        (2, in_it("DOT 4", poured=""), "no proof", "no entry of what went in"),
        (2, in_it().step("in-it", 3, act="skipped", said="no cap"), "not met", "left out: no cap"),
        (
            2,
            in_it().step("in-it", 3, act="confirmed", answer="not known", said="no cap"),
            "no proof",
            "not known, no cap",
        ),
        (2, said(("fluid-grade", "DOT 4"), ("fluid-class", "class 6"), ("fluid-in-vehicle", "DOT 3")), "met", "DOT 3"),
        (2, Job(PLAIN), "does not apply", "names no fluid"),
        (3, whole().read("container-age", "3 d", 5), "met", "no longer than 30 d"),
        (3, whole().read("container-age", "31 d", 5), "not met", "31 d"),
        (3, whole().read("container-age", "700 h", 5), "met", ""),
        (3, whole(), "no proof", "at most 30 d"),
        (3, whole().read("container-age", "-3 d", 5), "no proof", "-3 d"),
        (3, Job(), "does not apply", ""),
        (14, spilled(), "no proof", "how much ran out at p4, front left is not recorded"),
        (14, misread(), "met", "900 mL (entry 5) was misread, as t-otter says"),
        (15, misread(), "met", "150 mL ran out"),
        (14, misread(mended=""), "not met", "1050 mL collected"),
        (15, misread(mended=""), "not met", "1050 mL ran out"),
        (14, misread(of="torque"), "not met", "1050 mL collected"),
        (14, misread(again=""), "not met", "900 mL collected"),
        (14, volumes("300 mL", "620 mL", "150 mL", "150 mL", "500 mL", "510 mL"), "met", "balances"),
        (14, volumes("300 mL", "700 mL", "150 mL", "150 mL", "500 mL", "510 mL"), "not met", "+90 mL unaccounted"),
        (14, volumes("300 mL", "550 mL", "150 mL", "150 mL", "500 mL", "510 mL"), "not met", "-60 mL unaccounted"),
        (14, volumes("300 mL", "620 mL", "150 mL", "150 mL", "510 mL"), "no proof", "was not read as a volume"),
        (14, volumes("300 mL", "620 mL", "90 mL", "210 mL", "500 mL", "510 mL"), "not met", "90 mL collected"),
        (14, volumes("300 mL", "0.62 L", "150 mL", "150 mL", "500 mL", "510 mL"), "met", ""),
        (
            14,
            volumes("300 mL", "620 mL", "150 mL", "99999999 mL", "500 mL", "510 mL"),
            "no proof",
            "cannot be right, so nothing follows from it: volume drawn 99999999 mL (entry",
        ),
        (
            14,
            volumes("300 mL", "500 mL", "150 mL", "150 mL", "500 mL", "400 mL"),
            "met",
            "the level fell by 100 mL; +0 mL unaccounted for, 30 mL either way allowed",
        ),
        (14, visited(), "no proof", "not recorded"),
        (
            14,
            volumes("300 mL", "620 mL", "150 mL", "150 mL", "500 mL", "510 mL").open("rr", "p1", 300).close("rr", 310),
            "no proof",
            "how much ran out at p1, rear right is not recorded",
        ),
        (14, drawn_off(), "no proof", "Draw the old fluid out: no entry"),
        (14, drawn_off().step("draw", 1, act="skipped", said="it was empty"), "no proof", "it was empty"),
        (14, Job(), "does not apply", "no volumes"),
        (14, collected("120 mL"), "no proof", "the level was not read"),
        (14, collected("1200 mL", "120 mL"), "no proof", "if what was at once read again does not count"),
        (14, collected("1200 mL", "1100 mL"), "not met", "2300 mL collected"),
        (14, two_bottles("rr"), "no proof", "no volume recorded at front left"),
        (14, two_bottles("rr", "fl"), "met", ""),
        (14, two_bottles("rr", "fl", again="80 mL"), "met", ""),
        (14, wasted("600 mL"), "met", "what went in balances what came out"),
        (14, wasted("575 mL"), "met", "balances"),
        (14, wasted("300 mL"), "no proof", "the waste container held no more than 300 mL"),
        (
            14,
            volumes("300 mL", "620 mL", "150 mL", "150 mL", "500 mL", "510 mL").step("said-refill", 220, "refill"),
            "no proof",
            "how much went in is not recorded",
        ),
        (
            14,
            volumes("300 mL", "620 mL", "150 mL", "150 mL", "500 mL", "610 mL").read(
                "volume-in", "100 mL", 160, step="level-look", affects="refill"
            ),
            "met",
            "720 mL filled in",
        ),
        (15, filled_between_two_visits_of_a_pass(), "met", ""),
        (15, volumes("300 mL", "620 mL", "150 mL", "150 mL"), "met", "150 mL ran out"),
        (15, volumes("300 mL", "620 mL", "531 mL", "150 mL"), "not met", "531 mL ran out"),
        (15, volumes("300 mL", "620 mL", "529 mL", "150 mL"), "no proof", "such sums are sure to 30 mL"),
        (15, whole().read("volume-in", "600 mL", 5).open("fl", "p4", 100).close("fl", 130), "no proof", "at p4"),
        (15, whole().step("fill", 5, "refill"), "no proof", "no entry of what was done at p4"),
        (
            14,
            two_spilled(),
            "no proof",
            "ran out at p2, rear left and p3, front right is not recorded (bottle not read:",
        ),
        (14, two_spilled(again=True), "no proof", "363 mL came out"),
        (14, two_spilled(redone=P3), "no proof", "is not recorded (bottle not read: entry 6)"),
        (14, two_spilled(redone=BOTH), "no proof", "is not recorded (bottle not read: entry 6)"),
        (15, spilled_beside_one_read("150 mL", "90 mL"), "no proof", "; at least 363 mL ran out after the filling"),
        (15, collected("1200 mL", "120 mL"), "no proof", "at most 1320 mL ran out after the filling of entry 1"),
        (15, collected("1200 mL", "120 mL"), "no proof", "120 mL if what was at once read again does not count"),
        (15, two_spilled(), "no proof", "ran out at p2 and p3; at least 273 mL ran out after the filling"),
        (15, two_spilled(redone=P3), "no proof", "ran out at p2 and p3; at least 333 mL ran out after the filling"),
        (15, two_spilled(redone=BOTH), "no proof", "ran out at p2 and p3; at least 333 mL ran out after the filling"),
        (15, two_spilled(again=True), "met", "363 mL ran out"),
        (15, two_spilled("100 mL"), "no proof", "it may have held no more than 100 mL"),
        (15, two_spilled("600 mL"), "no proof", "no entry of how much ran out at p2 and p3"),
        (15, filled_twice("400 mL"), "met", ""),
        (15, one_bottle(), "met", "200 mL ran out"),
        (15, one_bottle(read=False), "no proof", "how much ran out at p2 and p3"),
        (15, filled_twice("50 mL"), "not met", "held at most 150 mL"),
        (15, filled_before_it_was_read(), "met", ""),
        (15, filled_while_open("100 mL", "200 mL"), "met", "at most 200 mL ran out after the filling"),
        (15, filled_while_open("400 mL", "150 mL"), "no proof", "it was filled while a nipple was open"),
        (15, filled_while_open("531 mL", "150 mL"), "not met", "held at most 500 mL"),
        (15, visited().read("volume-in", "600 mL", 150), "no proof", "before the reservoir was recorded"),
        (15, volumes("300 mL", "100 mL", "150 mL", "150 mL"), "no proof", "no more than 100 mL"),
        (15, filled_up("100 mL"), "met", ""),
        (15, visited(), "no proof", "was filled"),
        (3, containers(1, 1), "met", ""),
        (3, containers(2, 1), "no proof", "another container was filled from"),
        (3, containers(2, 2), "met", ""),
        (3, containers(1, 1).step("grade", 400, "fluid-grade", answer="DOT 4"), "met", ""),
        (15, Job(), "does not apply", "holds"),
    ],
)
def test_fluid(number: int, job: Job, answer: str, text: str) -> None:
    finding = ask(number, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


@pytest.mark.parametrize(
    ("filled", "affects", "answer", "says"),
    [
        ("100 mL", "refill", "met", "held at most 800 mL"),
        ("100 mL", "", "no proof", "no more than 100 mL, for nobody said that it was filled up"),
        ("0 mL", "refill", "no proof", "no more than 0 mL, for nothing went in"),
    ],
)
def test_a_later_filling_up_to_the_mark_fills_it_up_however_much_had_run_out(
    filled: str, affects: str, answer: str, says: str
) -> None:
    last = ask(15, two_spilled(filled, affects)).details[-1]
    assert last.answer == answer and says in last.text


def test_filling_again_counts_anew() -> None:
    job = whole(scope="nipples rr,rl").step("fill", 5, "refill")
    for index, (nipple, pass_id) in enumerate((("rr", "p1"), ("rl", "p2"))):
        at = 100.0 + 100 * index
        job.open(nipple, pass_id, at).close(nipple, at + 20, pass_id).read("volume", "400 mL", at + 30, pass_id=pass_id)
        if index == 0:
            job.step("fill", at + 40, "refill")
    assert ask(15, job).answer == "met"


def test_a_label_that_nobody_could_read_puts_no_other_one_right() -> None:
    found = ask(2, labels("DOT 5", "", "+", "o"))
    assert (found.answer, "put right" in found.text) == ("not met", False), found.text
    assert "DOT 5" in found.text


INTO_OLD = edit(
    ('fluid = "DOT 4"', ""),
    ("[pump]", '[[steps_before]]\nid = "old"\ntext = "What is in it?"\naffects = "fluid-in-vehicle"\n\n[pump]'),
)


def test_every_container_that_was_filled_from_is_held_against_what_was_in_the_vehicle() -> None:
    def job(*poured: str) -> Job:
        one = Job(INTO_OLD, scope="nipples fl").step("old", 1, "fluid-in-vehicle", answer="DOT 3")
        for index, grade in enumerate(poured):
            one.step("grade", 5 + 10 * index, "fluid-grade", answer=grade).step("fill", 8 + 10 * index, "refill")
        return one

    assert ask(2, job("DOT 4")).answer == "met"
    found = ask(2, job("DOT 5", "DOT 4"))
    assert (found.answer, "DOT 5 went in: these never mix" in found.text) == ("not met", True), found.text


def test_no_bound_is_given_from_above_where_a_bottle_was_left_unread() -> None:
    found = ask(15, two_spilled("600 mL"))
    assert [(one.answer, "at most 273 mL" in one.text or "273 mL ran out" in one.text) for one in found.details] == [
        ("no proof", False),
        ("met", True),
    ]
    assert "at most" not in ask(15, two_spilled()).text.partition(", the reservoir held")[0]


def test_a_bottle_that_a_card_leaves_empty_is_in_no_later_one_for_sure() -> None:
    job = two_spilled()
    job.entries()[6].body.update({"step": "not-written", "act": "confirmed", "answer": "bottle", "said": ""})
    found = ask(15, job)
    assert (found.answer, "ran out at p2 and p3; at least 273 mL" in found.text) == ("no proof", True), found.text


def visited_again(**second: str) -> Job:
    """Return a job whose only nipple was opened twice: the first bottle was read, the second not or as given."""
    job = whole().read("level", "350 mL", 2).read("volume-in", "150 mL", 5)
    job.open("fl", "p4", 100).close("fl", 130, "p4").read("volume", "150 mL", 140, pass_id="p4", step="bottle")
    if second.get("opened") == "not written":
        job.step("not-written", 200, act="confirmed", answer="open", pass_id="p4", nipple="fl")
    else:
        job.open("fl", "p4", 200)
    job.close("fl", 230, "p4")
    if "read" in second:
        job.read("volume", second["read"], 240, pass_id="p4", step="bottle")
    return job.read("level", second.get("level", "350 mL"), 400)


@pytest.mark.parametrize("number", [14, 15])
@pytest.mark.parametrize(
    ("job", "answer"),
    [
        (visited_again(), "no proof"),
        (visited_again(opened="not written"), "no proof"),
        (visited_again(read="0 mL"), "met"),
    ],
    ids=["not read again", "not said to be opened", "read again"],
)
def test_a_bottle_read_before_a_nipple_is_opened_again_says_nothing_of_that_opening(
    number: int, job: Job, answer: str
) -> None:
    found = ask(number, job)
    assert found.answer == answer, found


@pytest.mark.parametrize("opened", ["said", "not written"])
def test_a_bottle_of_a_later_visit_takes_the_place_of_no_misread_one(opened: str) -> None:
    job = whole().read("level", "500 mL", 2).read("volume-in", "500 mL", 5)
    job.open("fl", "p4", 100).close("fl", 130, "p4").read("volume", "900 mL", 140, pass_id="p4", step="bottle")
    job.step(
        "put-right", 145, act="confirmed", pass_id="p4", answer="bottle", mended="misread: the wrong mark was read"
    )
    if opened == "said":
        job.open("fl", "p4", 200)
    job.close("fl", 230, "p4").read("volume", "150 mL", 240, pass_id="p4", step="bottle").read("level", "850 mL", 400)
    assert not job.case().timeline.misread
    assert (ask(14, job).answer, ask(15, job).answer) == ("not met", "not met")


@pytest.mark.parametrize("left", ["skipped", "empty"])
def test_a_bottle_that_was_misread_and_then_left_unread_does_not_count(left: str) -> None:
    job = whole().read("level", "500 mL", 2).read("volume-in", "300 mL", 5)
    job.open("fl", "p4", 100).close("fl", 130, "p4").read("volume", "100 mL", 140, pass_id="p4", step="bottle")
    job.open("fl", "p4", 150).close("fl", 180, "p4").read("volume", "0.06 mL", 190, pass_id="p4", step="bottle")
    job.step("put-right", 195, act="confirmed", pass_id="p4", answer="bottle", mended="misread: nothing more ran")
    if left == "skipped":
        job.step("bottle", 200, act="skipped", pass_id="p4", said="it was not measured")
    else:
        job.step("not-written", 200, pass_id="p4", answer="bottle")
    found = ask(14, job)
    (visit,) = (one.text for one in found.details if one.subject == "p4")
    assert visit.startswith("100 mL collected") and "0.06 mL (entry 8) was misread, as t-otter says" in found.text


GRADE = edit(
    ("[pump]", '[[steps_before]]\nid = "grade"\ntext = "Read the container"\naffects = "fluid-grade"\n\n[pump]'),
)
OLD_AND_GRADE = edit(
    ('fluid = "DOT 4"', ""),
    (
        "[pump]",
        '[[steps_before]]\nid = "grade"\ntext = "Read the container"\naffects = "fluid-grade"\n\n'
        '[[steps_before]]\nid = "old"\ntext = "What is in it?"\naffects = "fluid-in-vehicle"\n\n[pump]',
    ),
)


def emptied(*acts: str, procedure: Procedure = GRADE) -> Job:
    """Return a job of `labels` in which a card leaves one empty at `?`, and what was in the vehicle is known."""
    job = Job(procedure, scope="nipples fl").step("old", 1, "fluid-in-vehicle", answer="DOT 3")
    for index, act in enumerate(acts):
        at = 5.0 + 10 * index
        if act == "?":
            job.step("not-written", at, act="confirmed", answer="grade")
        elif act == "+":
            job.read("volume-in", "200 mL", at)
        elif act == "o":
            job.open("fl", "p4", at)
        else:
            job.step("grade", at, "fluid-grade", act="confirmed", answer=act)
    return job


@pytest.mark.parametrize("procedure", [GRADE, OLD_AND_GRADE], ids=["as asked", "with what was in it"])
@pytest.mark.parametrize(
    ("acts", "answer"),
    [
        (("?", "+", "o", "DOT 4", "+"), "no proof"),
        (("?", "o", "DOT 4", "+"), "no proof"),
        (("DOT 4", "+", "?", "+"), "no proof"),
        (("+", "DOT 4", "+"), "no proof"),
        (("?", "+"), "no proof"),
        (("?", "DOT 4", "+", "o"), "met"),
        (("DOT 4", "+", "?"), "met"),
        (("o", "DOT 4", "+"), "met"),
        (("?", "+", "DOT 5", "+"), "not met"),
    ],
)
def test_fluid_from_a_container_that_nobody_read_has_no_proof(
    procedure: Procedure, acts: Sequence[str], answer: str
) -> None:
    found = ask(2, emptied(*acts, procedure=procedure))
    assert found.answer == answer, found


@pytest.mark.parametrize(
    ("step", "answer"),
    [("said-refill", "no proof"), ("fill", "met"), ("level-look", "met")],
    ids=["beside the walk", "a step that fills it", "filled up at a look"],
)
def test_a_filling_beside_the_walk_is_of_as_much_as_is_written_and_no_more(step: str, answer: str) -> None:
    job = whole().read("volume-in", "50 mL", 5, step=step, affects="refill")
    job.open("fl", "p4", 100).close("fl", 130, "p4").read("volume", "450 mL", 140, pass_id="p4", step="bottle")
    found = ask(15, job)
    assert found.answer == answer, found


def test_an_age_is_of_no_container_that_nobody_read() -> None:
    job = whole().read("volume-in", "200 mL", 3, affects="refill").read("container-age", "3 d", 5)
    assert ask(3, job).answer == "met", "no label is read in this job at all"
    found = ask(3, job.step("grade", 8, "fluid-grade", answer="DOT 4"))
    assert (found.answer, NOBODY in found.text) == ("no proof", True)
    assert ask(2, job).answer == "no proof"
