"""What a command may make the runner do, and the words of a command.

A face's command is a JSON object; `commands` says what each does, `step_keys` and `nipple_keys` what a key means there.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from witnessmark.errors import InputError
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.fluid.filling import Filling
from witnessmark.job.half_answered import HalfAnswered
from witnessmark.job.hands import Hands
from witnessmark.job.record import Record
from witnessmark.job.view import View
from witnessmark.job.walk.state import JobState

Command = Mapping[str, Any]


class Acts(Protocol):
    """What a command may make the runner do."""

    state: JobState
    record: Record
    hands: Hands
    half: HalfAnswered
    filling: Filling
    view: View | None

    @property
    def live(self) -> bool: ...

    def arm(self, answers: Mapping[str, bool]) -> None: ...

    def refuse(self, pass_id: str, refusal: Refusal) -> None: ...

    def start(self) -> None: ...

    def stop(self, why: str) -> None: ...

    def show(self) -> None: ...

    def leave(self, why: str) -> None: ...

    def ask_again(self) -> None: ...


def text_of(command: Command, name: str) -> str:
    """Return a text of a command, empty where it has none. Raises InputError when it is no text."""
    value = command.get(name, "")
    if not isinstance(value, str):
        raise InputError(f"{name} is not text", place="command", hint=f"send {name} as text")
    return value
