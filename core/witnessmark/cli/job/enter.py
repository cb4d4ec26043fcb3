"""`witnessmark job enter JOB`: key in what was written on a card; every entry says it was typed afterwards."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, say_clock, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop
    from witnessmark.job.walk.state import JobState


EMPTIES = """? is what the card leaves empty: a time, a value, the rest of a line,
or alone the whole line. Where only a time is asked, a mark without one: ? done
Before the first line of a pass, as the card has it: level 10:41 500 mL,
off 10:41, filled 10:42 200 mL. Where the level is set or read at the end:
drawn 10:55 120 mL. At any time: note p3 and its words,
back to take the last line back: it is asked for again, and both stay visible.
Behind wheels or a volume outside its limits: right 10:42 and what was put right.
Behind a check that was not right: mended 10:42 tightened rear-right (or replaced,
bled, nothing, own words, and at where), and again p1 for a pass bled after it."""


@click.command("enter")
@click.argument("job")
@click.option(
    "--on",
    "day",
    type=click.DateTime(["%Y-%m-%d"]),
    help="The day on the card. Default: today; asked where the job was last worked on before that.",
)
@click.option("--done-by", default="", metavar="ID", help="Who did the work, when it was not you.")
@by_option
@shop_option
def enter(job: str, day: datetime | None, done_by: str, by: str, shop: Shop) -> None:
    """Key in a card afterwards, from where the job stands. An empty line ends; each entry says it was typed.

    What the card leaves empty is ?: in place of a time or a value, at the end of a line for the boxes and words that
    are left, alone for the whole line. It goes on to the next, and proves nothing. A mark instead of a time, where only
    a time is asked, is ? done: it was done, on that day, and nobody knows when.

    Each line is typed as it stands on the card, the time, the value, what is ticked, the words: 10:42 8.1, clear. The
    words that are printed before a time may be typed or not: from 10:42 to 10:43, on again at 10:43. A value without a
    unit is taken in the one that is asked for, and said back as it was taken.

    What the card has beside a pass is keyed in before the next line: level 10:41 500 mL, off 10:41 (the feed's pressure
    let off to fill), filled 10:42 200 mL, drawn 10:55 120 mL where the level is set or read at the end, note p3 and its
    words. Behind a wheel torque or a volume outside its limits: right 10:42 and what was put right, or that it was
    misread; then what was read, and only that counts.

    Behind a check that was not right: mended 10:42 tightened rear-right, mended 10:42 replaced and a nipple, a circuit
    or not known, mended 10:42 bled, mended 10:42 nothing, or mended 10:42, own words and at where it was; behind it
    made safe or not made safe, as the card says whether it was before. A nipple that was tightened is asked for its
    torque next; again p1 keys in a pass that was bled after it, also one that the scope leaves out.

    What another tester showed is keyed in as told: 10:39 and the vehicle's number, 10:39 P0123, C1234-56, or 10:39 no
    code; - and why where it was not read (- ? where no reason is written), with its time before it or without.

    What belongs to another line (a yes, a value, a box where only a time is asked) is refused, and nothing of it
    recorded.

    A line that was mistyped is taken back by back, the last first, and named with its time and value; when it was, a
    single entry's value or words may be put right later, with amend and its number.

    Each line is recorded at once and whole, so the typing may be broken off after any of them. The bay is free
    meanwhile: another job may run in it.
    """
    from witnessmark.cli.job.show import taken_back
    from witnessmark.clock import NS, SystemClock
    from witnessmark.errors import InputError
    from witnessmark.host.card import entering
    from witnessmark.host.card.card_back import BACK_WORD
    from witnessmark.host.card.card_beside import WORDS
    from witnessmark.host.card.card_line import Day, StillToCome
    from witnessmark.host.card.card_printed import bare
    from witnessmark.host.job_clock import on_its_clock
    from witnessmark.people.person import Person

    worked, types = Person(done_by or by), Person(by)
    now_ns = SystemClock().stamp().wall_ns
    today = datetime.fromtimestamp(now_ns // NS)
    state = entering.state_of(shop, job)
    shop, clock = on_its_clock(shop, job)
    say_clock(clock)
    before, doubted, again = entering.seen(shop, job), "", ""
    if day is None and (earlier := before.day_before(now_ns)):
        day = _which_day(f"the last that is known of job {job} is of {earlier}, and today is {today.date()}")
    may_ask = day is None
    click.echo(f"job {job}, {_vehicle(state)}; done by {worked.id}; {Day((day or today).date(), now_ns)}", err=True)
    click.echo(EMPTIES, err=True)
    whole = state.point is None
    while (state.point is not None or whole) and state.status in ("open", "paused"):
        stood = state.cursor, state.points
        line = bare(state, again or click.prompt(_ask(state), default="", show_default=False, err=True))
        again = ""
        if not line:
            break
        when = Day(
            (day or today).date(), SystemClock().stamp().wall_ns, live_ns=before.live_ns
        )  # what was to come a line ago may be past
        try:
            doubt = "" if line == doubted else entering.doubt(state, line, when, before)
            if doubt:
                doubted = line
                click.echo(f"REALLY? {doubt}\n  do: write the same line again to take it as it stands", err=True)
                continue
            with entering.writing(shop, state) as journal:
                began_ns = entering.enter(journal, state, line, when, worked, types)
        except InputError as error:
            if may_ask and isinstance(error, StillToCome):
                day, may_ask, again = _which_day(str(error.what)), False, line
                continue
            click.echo(f"{error}\n  do: {error.hint}", err=True)
            state, before = entering.state_of(shop, job), entering.seen(shop, job)
            continue
        back, whole, last, may_ask = line.split()[0] == BACK_WORD, False, state.last_seq, False
        doubted, before = "", entering.seen(shop, job) if back else before.after(began_ns)
        state = entering.state_of(shop, job)
        for taken in entering.values(shop, state, last):
            click.echo(taken, err=True)
        if back or ((state.cursor, state.points) == stood and line.split()[0] in WORDS):
            click.echo("\n".join(("taken back:", *taken_back(shop, job, last))) if back else "recorded", err=True)
        elif (state.cursor, state.points) == stood:
            click.echo(entering.stays(state), err=True)
    click.echo(f"job {job}: {state.cursor} of {len(state.points)} steps, entered afterwards by {by}")
    click.echo(_next(job, whole=state.point is None), err=True)


def _which_day(why: str) -> datetime:
    asked = f"{why}: which day is on the card?\n  [like 2026-03-31; --on says it beforehand]"
    day: datetime = click.prompt(asked, type=click.DateTime(["%Y-%m-%d"]), err=True)
    return day


def _next(job: str, *, whole: bool) -> str:
    rest = "" if whole else f"witnessmark job enter {job} for the rest of the card; "
    return f"next: {rest}witnessmark job run {job}, where [f] finishes the job once all its steps are done"


def _vehicle(state: JobState) -> str:
    return f"vehicle {state.vehicle}" if state.vehicle else "no vehicle number was typed"


def _ask(state: JobState) -> str:
    from witnessmark.host.card.entering import form
    from witnessmark.job.walk.standing import spoken
    from witnessmark.quantity import printed

    point = state.point
    if point is None:
        return f"all {len(state.points)} steps are keyed in\n  [back, or an empty line]"
    limit = point.limit
    band = " to ".join(one for one in (limit.low, limit.high) if one) if limit is not None else ""
    choices = point.step.choices if point.step else ()
    more = f" ({'; '.join(choices) or band})" if choices or band else ""
    asked = f"{state.cursor + 1}/{len(state.points)} {spoken(state, point)}{more}\n  [{form(state)}]"
    return printed(asked)
