"""A job runs where a vehicle is: on an interface, or on the practice vehicle, never on a recording played back."""

from __future__ import annotations

from pathlib import Path

import pytest

from witnessmark.clock import SystemClock
from witnessmark.errors import LinkError
from witnessmark.host import plugins
from witnessmark.host.runner_process import open_live

FRAMES = b"(1760000000.000000) can0 7E0#0322F19000000000\n(1760000000.020000) can0 7E8#0462F1905A000000\n"


@pytest.mark.parametrize(("port", "listen_only"), [("messages", False), ("frames", False), ("frames", True)])
def test_a_recording_that_answers_is_no_link_of_a_job(tmp_path: Path, port: str, listen_only: bool) -> None:
    (tmp_path / "bus.log").write_bytes(FRAMES)
    address = f"replay:{tmp_path / 'bus.log'}?as={port}"
    plugins.open_link(address, SystemClock(), listen_only).close()
    with pytest.raises(LinkError, match="plays a recording: no vehicle is there") as refused:
        open_live(address, SystemClock(), listen_only=listen_only)
    assert (refused.value.kind, refused.value.reached) == ("refused", "nothing") and "--link" in refused.value.hint


def test_a_job_without_a_link_says_how_to_name_one() -> None:
    with pytest.raises(LinkError, match="no link") as refused:
        open_live("", SystemClock(), listen_only=False)
    assert "--link" in refused.value.hint
