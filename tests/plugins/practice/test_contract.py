"""The practice link keeps every rule of its port, through its entry point and the adapter's own words."""

from __future__ import annotations

from typing import ClassVar

from tests.plugins.practice.far_end import PracticeFarEnd

from witnessmark.testing import FrameLinkContract


class TestPracticeLink(FrameLinkContract):
    scheme: ClassVar[str] = "practice"
    missing: ClassVar[str | None] = "practice:no-such-folder"
    patience_s: ClassVar[float] = 4.0
    full_rate_s: ClassVar[float] = 1.0
    paced: ClassVar[bool] = False  # the pseudo-terminal holds the sender back

    def far_end(self) -> PracticeFarEnd:
        return PracticeFarEnd()
