"""The one tree of errors.

Every error answers three questions: whose fault it is (its class), whether anything reached the vehicle (`reached`)
and what to do now (`hint`). A negative response of a control unit and a verdict of the audit are data, never errors.
Only `cli` and `web` turn an error into text and an exit code.

    WitnessmarkError
    +-- LocalError           our side or the user's; nothing was sent
    |   +-- InputError       a file, address, record or field is wrong; names the place
    |   +-- JournalError     it cannot be recorded, so it is refused
    |   +-- PluginError      names the plugin, its distribution and version
    +-- PeerError            their bytes break the standard; kept raw
    +-- LinkError            the interface or the cable
    +-- OutcomeUnknown       sent, and no answer says what came of it
"""

from __future__ import annotations

from typing import Literal

Reached = Literal["nothing", "maybe", "all"]
"""How much of a request reached the vehicle."""


class WitnessmarkError(Exception):
    """What went wrong, in one sentence a user understands.

    `hint` says what to do now; it is never empty. `reached` says whether anything reached the vehicle.
    """

    reached: Reached = "nothing"

    def __init__(self, what: str, *, hint: str, reached: Reached | None = None) -> None:
        super().__init__(what)
        self.what = what
        self.hint = hint
        if reached is not None:
            self.reached = reached

    def __str__(self) -> str:
        return self.what


class LocalError(WitnessmarkError):
    """Our side or the user's asked for something that cannot be done. Nothing was sent."""


class InputError(LocalError):
    """A file, an address, a record or a field is wrong.

    `place` names where, as a user would look for it: `truck.toml line 12, passes[2].seconds`.
    """

    def __init__(self, what: str, *, place: str, hint: str) -> None:
        super().__init__(what, hint=hint)
        self.place = place

    def __str__(self) -> str:
        return f"{self.place}: {self.what}"


class JournalError(LocalError):
    """The journal cannot take or give an entry, so what needed it is refused."""


class PluginError(LocalError):
    """A plugin is broken or breaks its contract. Names the plugin, its distribution and version."""

    def __init__(self, what: str, *, plugin: str, distribution: str = "?", version: str = "?", hint: str) -> None:
        super().__init__(what, hint=hint)
        self.plugin = plugin
        self.distribution = distribution
        self.version = version

    def __str__(self) -> str:
        return f"plugin {self.plugin} ({self.distribution} {self.version}): {self.what}"


class PeerError(WitnessmarkError):
    """Bytes of the other side break the standard. `reason` is a specific short name, `raw` the bytes as they came."""

    reached: Reached = "maybe"

    def __init__(
        self,
        what: str,
        *,
        reason: str,
        raw: bytes = b"",
        hint: str = "keep the recording",
        reached: Reached | None = None,
    ) -> None:
        super().__init__(what, hint=hint, reached=reached)
        self.reason = reason
        self.raw = raw


class LinkError(WitnessmarkError):
    """The interface, its cable or its driver failed. `kind` is a specific short name (`gone`, `busy`, `permission`)."""

    reached: Reached = "maybe"

    def __init__(self, what: str, *, kind: str, hint: str, reached: Reached | None = None) -> None:
        super().__init__(what, hint=hint, reached=reached)
        self.kind = kind


class OutcomeUnknown(WitnessmarkError):
    """A request was sent and no answer says what came of it: it may have acted, so it is never repeated by itself."""

    reached: Reached = "maybe"

    def __init__(self, what: str, *, budget: str, hint: str) -> None:
        super().__init__(what, hint=hint)
        self.budget = budget
