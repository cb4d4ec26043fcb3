"""The practice hands do what an answer says was done to a nipple, and nothing else."""

from __future__ import annotations

from witnessmark_practice.apprentice import Apprentice


def test_they_open_what_is_said_to_be_open_before_arming_and_shut_what_is_said_to_be_shut_again() -> None:
    done: list[tuple[str, str]] = []

    def do(act: str, item: str, amount: str) -> str:
        done.append((act, item))
        return ""

    hands = Apprentice(do)
    view = {"id": "1", "kind": "arm", "nipples": ["rear-left"]}
    hands.follow(view, {"do": "answers", "answers": {"mounted": True}})
    assert done == []
    hands.follow(view, {"do": "answers", "answers": {"mounted": True, "opened": True}})
    hands.follow(view, {"do": "key", "key": "k"})
    assert done == [("open", "rear-left"), ("close", "rear-left")]
    hands.follow({**view, "kind": "decide"}, {"do": "key", "key": "k"})
    assert len(done) == 2
