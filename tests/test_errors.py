"""Every error says whose fault it is, whether anything reached the vehicle, and what to do."""

from __future__ import annotations

import inspect

import pytest

from witnessmark import errors
from witnessmark.cli.failure import tell

EXAMPLES: dict[type[errors.WitnessmarkError], errors.WitnessmarkError] = {
    errors.WitnessmarkError: errors.WitnessmarkError("w", hint="h"),
    errors.LocalError: errors.LocalError("w", hint="h"),
    errors.InputError: errors.InputError("w", place="p", hint="h"),
    errors.JournalError: errors.JournalError("w", hint="h"),
    errors.PluginError: errors.PluginError("w", plugin="x", hint="h"),
    errors.PeerError: errors.PeerError("w", reason="r", raw=b"1"),
    errors.LinkError: errors.LinkError("w", kind="gone", hint="h"),
    errors.OutcomeUnknown: errors.OutcomeUnknown("w", budget="P2", hint="h"),
}


def test_every_error_class_has_an_example_here() -> None:
    classes = {c for _, c in inspect.getmembers(errors, inspect.isclass) if issubclass(c, errors.WitnessmarkError)}
    assert classes == set(EXAMPLES)


@pytest.mark.parametrize("error", EXAMPLES.values(), ids=lambda error: type(error).__name__)
def test_a_user_reads_what_happened_and_what_to_do(
    error: errors.WitnessmarkError, capsys: pytest.CaptureFixture[str]
) -> None:
    code = tell(error)
    shown = capsys.readouterr().err
    assert error.hint in shown and str(error) in shown and "Traceback" not in shown
    assert code in (2, 3)
    if isinstance(error, errors.LocalError):
        assert error.reached == "nothing"
    if isinstance(error, errors.OutcomeUnknown):
        assert error.reached == "maybe" and "may have reached" in shown


def test_our_own_mistake_shows_no_traceback_and_keeps_it_in_a_file(
    capsys: pytest.CaptureFixture[str], tmp_path: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert tell(ZeroDivisionError("oops")) == 70
    shown = capsys.readouterr().err
    assert "ZeroDivisionError" in shown and "Traceback" not in shown
    from pathlib import Path

    (report,) = Path(str(tmp_path)).glob("witnessmark-*.txt")
    assert "oops" in report.read_text(encoding="utf-8")
