"""What the practice hands cannot do is said on the screen: the job stays on it, and what was answered is recorded."""

from __future__ import annotations

import socket
from collections.abc import Mapping
from typing import Any

import pytest

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.cli.bay.screen import Screen
from witnessmark.cli.job.run import Face
from witnessmark.clock import Stamp
from witnessmark.errors import InputError, LinkError
from witnessmark.host.speaking import unknown_to_hands

FILL = {
    "id": "1",
    "kind": "reading",
    "title": "Fill",
    "text": "Fill to the upper mark.",
    "step": "filled",
    "unit": "mL",
}
FEED = {"id": "2", "kind": "step", "title": "Feed", "text": "Fit the feed.", "buttons": [{"key": "y", "label": "done"}]}


class Refusing:
    """A workshop whose hands can do nothing."""

    rate, origin = 1, Stamp(0, 0)

    def __init__(self, error: Exception) -> None:
        self._error = error

    def prepare(self, view: Mapping[str, Any]) -> str:
        if view["kind"] == "reading":
            raise self._error
        return ""

    def follow(self, view: Mapping[str, Any], command: Mapping[str, Any]) -> None:
        raise self._error

    def on_cue(self, view: Mapping[str, Any]) -> None:
        raise self._error

    def do(self, act: str, item: str = "", amount: str = "") -> str:
        raise self._error


class Script:
    """A runner and a keyboard in one: it says the messages, then each key is pressed, then the runner is gone."""

    def __init__(self, messages: list[dict[str, Any]], keys: str) -> None:
        self._messages, self._keys = messages, [*keys]
        self._end, self._other = socket.socketpair()
        self._other.send(b"x")
        self.sent: list[dict[str, Any]] = []
        self.gone = False

    def fileno(self) -> int:
        return self._end.fileno()

    def receive(self, wait_s: float = 0.0) -> list[dict[str, Any]]:
        messages, self._messages = self._messages, []
        self.gone = not messages and not self._keys
        return messages

    def read(self) -> list[str]:
        return [] if self._messages else [self._keys.pop(0)] if self._keys else []

    def send(self, command: dict[str, Any]) -> None:
        self.sent.append(command)

    def part(self) -> None:
        self.gone = True
        self._end.close()
        self._other.close()

    def __enter__(self) -> Script:
        return self

    def __exit__(self, *_: object) -> None: ...


class Keys(Script):
    """The keyboard's end of a script: it is gone never, the runner is."""

    def __init__(self, script: Script) -> None:
        self._script = script
        self.gone = False

    def fileno(self) -> int:
        return self._script.fileno()

    def read(self) -> list[str]:
        return self._script.read()


@pytest.mark.parametrize(
    "error",
    [
        InputError("1.2 bar stand on the reservoir", place="refill", hint="depressurise first"),
        LinkError("the practice truck does not answer its hands", kind="gone", hint="start it again"),
    ],
    ids=["refused", "gone"],
)
@pytest.mark.parametrize(
    ("messages", "keys"),
    [([{"view": FILL}], ""), ([{"view": FEED}], "y"), ([{"view": FEED}, {"cue": 0}], "")],
    ids=["before", "answered", "cue"],
)
def test_what_the_hands_cannot_do_is_said_and_the_job_goes_on(
    error: InputError | LinkError, messages: list[dict[str, Any]], keys: str, capsys: pytest.CaptureFixture[str]
) -> None:
    script, screen = Script(messages, keys), Screen("J-1")
    code = Face(script, Dialog(), screen, Keys(script), Refusing(error)).watch({"kind": "busy"})  # type: ignore[arg-type]
    assert code == 0
    (what, hint) = screen.wrong
    assert f"the practice hands could not do it: {error}" in what and hint.endswith(f"do: {error.hint}")
    assert str(error) in capsys.readouterr().err
    assert script.sent == ([{"do": "key", "view": "2", "key": "y"}] if keys else [])


class Having(Refusing):
    """A workshop whose vehicle has two nipples."""

    def __init__(self) -> None:
        super().__init__(InputError("no", place="hands", hint="none"))

    def do(self, act: str, item: str = "", amount: str = "") -> str:
        return "front rear" if (act, item) == ("read", "nipples") else super().do(act, item, amount)


def test_nipples_that_the_practice_vehicle_does_not_have_are_named_before_the_job() -> None:
    said = unknown_to_hands(Having(), ["front", "lsv"])
    assert "has the nipples front, rear, and not lsv" in said and "a run is made with them shut" in said
    assert unknown_to_hands(Having(), ["front"]) == unknown_to_hands(None, ["lsv"]) == ""
    assert unknown_to_hands(Refusing(InputError("no", place="act", hint="none")), ["lsv"]) == ""
