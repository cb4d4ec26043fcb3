"""What the job itself writes is told from a step of the procedure that a journal keeps and that is called the same."""

from __future__ import annotations

from tests.audit.jobs import clean, edit
from tests.audit.shipped import ask

from witnessmark.procedure import own

NAMES = (own.REDO, own.PASSES_AGAIN, own.LEFT_OPEN, own.AIR_DRAWN, own.MISSED, own.UNWRITTEN)


def test_a_step_of_the_procedure_that_is_called_like_one_of_ours_says_nothing_else() -> None:
    steps = (f'[[steps_after_each_pass]]\nid = "{name}"\ntext = "Wipe the caliper"\n' for name in NAMES)
    job = clean(edit(("[pump]", f"{''.join(steps)}[pump]")))
    for name in NAMES:
        job.step(name, 136, pass_id="p1", act="skipped" if name == own.MISSED else "done", answer="close")
    assert {ask(number, job).answer for number in (4, 6, 9, 11, 16)} == {"met"}
    assert "on the card" not in ask(28, job).text
