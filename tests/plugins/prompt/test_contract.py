"""The prompt links keep every rule of their ports, through their entry point."""

from __future__ import annotations

from typing import ClassVar

from tests.plugins.prompt.far_ends import PromptFrameFarEnd, PromptMessageFarEnd

from witnessmark.testing import FrameLinkContract, MessageLinkContract

MISSING = "prompt:/dev/no-such-port?profile=witnessmark_practice:profile.toml"


class TestPromptFrameLink(FrameLinkContract):
    scheme: ClassVar[str] = "prompt"
    missing: ClassVar[str | None] = MISSING
    full_rate_s: ClassVar[float] = 1.0
    paced: ClassVar[bool] = False  # the pseudo-terminal holds the sender back

    def far_end(self) -> PromptFrameFarEnd:
        return PromptFrameFarEnd()


class TestPromptMessageLink(MessageLinkContract):
    scheme: ClassVar[str] = "prompt"
    missing: ClassVar[str | None] = MISSING

    def far_end(self) -> PromptMessageFarEnd:
        return PromptMessageFarEnd()
