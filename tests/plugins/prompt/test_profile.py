"""Profiles: every mistake is named with its file, its key or line, and what was expected."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.plugins.prompt.teller import PROFILE

from witnessmark.errors import InputError
from witnessmark_prompt.profile import load_profile, parse_profile
from witnessmark_prompt.reading import Reading


def mistake(text: str) -> str:
    with pytest.raises(InputError) as error:
        Reading(parse_profile(text, "bay2.toml"), "bay2.toml")
    assert error.value.hint
    return str(error.value)


def test_a_right_profile_is_read() -> None:
    profile = parse_profile(PROFILE, "bay2.toml")
    assert (profile.serial.baud, profile.text.prompt, profile.start[0].within_ms) == (115_200, "next? ", 3000)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('level = "frame"', 'level = "frames"', "bay2.toml, level: Invalid enum value 'frames'"),
        ("[text]", "[serial]\nbaud = 9\n[text]", "bay2.toml, serial.baud: Expected `int` >= 50"),
        ("[text]", "[serial]\nspeed = 9600\n[text]", "bay2.toml, serial: Object contains unknown field `speed`"),
        ('prompt = "next? "', "", "bay2.toml, text: Object missing required field `prompt`"),
        ('prompt = "next? "', 'prompt = "0A "', "bay2.toml, text.prompt: the prompt '0A ' may as well be data"),
        ('prompt = "next? "', 'prompt = " "', "bay2.toml, text.prompt: the prompt ' ' may as well be data"),
        ('prompt = "next? "', 'prompt = "a\\nb"', "bay2.toml, text.prompt: the prompt holds a line end"),
        ('line_end = "\\n"', 'line_end = ";"', "bay2.toml, text.line_end: ';' is not a line end"),
        ("{length}:{data} *{sum}", "{length}:{dat} *{sum}", "bay2.toml, send.command: {dat} is not a field here"),
        ("say {id:3} {length}:{data}", "say {length}:{data}", "bay2.toml, send.command: field {id} is missing"),
        ('lines = ["got {id:3}', 'lines = ["got {id}{time}', "bay2.toml, receive.lines[0]: {id} and {time} run into"),
        ("got {id:3} {length}:{data}", "got {length}:{data}", "bay2.toml, receive.lines[0]: field {id} is missing"),
        ('remote = ["asked {id:3}"]', 'remote = ["asked"]', "bay2.toml, receive.remote[0]: field {id} is missing"),
        ('[sum]\nkind = "xor8"\nover = "data"', "", "bay2.toml, sum: {sum} is used, but not how it is made"),
        ('kind = "xor8"', 'kind = "md5"', "bay2.toml, sum.kind: Invalid enum value 'md5'"),
        ('means = "busy"', 'means = "tired"', "bay2.toml, meanings[0].means: Invalid enum value 'tired'"),
        ('line = "not now"', 'line = "not {now}"', "bay2.toml, meanings[0].line: {now} is not a field here"),
        ("[sum]", '[abilities]\nlisten = "silent"\n[sum]', "bay2.toml, listen_only: no commands that make it listen"),
        ("[sum]", '[[listen_only]]\nsend = "hush"\n[sum]', "bay2.toml, abilities.listen: commands to listen only"),
        ("[sum]", '[[address]]\nsend = "to"\n[sum]', "bay2.toml, address: frames carry their own address"),
        ("within_ms = 200", "within_ms = 0", "bay2.toml, send.within_ms: Expected `int` >= 1"),
        ('name = "teller"', 'name = "teller', "bay2.toml line 3: is not TOML"),
    ],
)
def test_a_wrong_profile_is_refused_with_place_and_reason(old: str, new: str, message: str) -> None:
    assert old in PROFILE
    assert mistake(PROFILE.replace(old, new, 1)).startswith(message)


def test_a_profile_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"bay9\.toml: cannot be read: No such file"):
        load_profile(str(tmp_path / "bay9.toml"))


def test_a_profile_that_is_no_text_is_named(tmp_path: Path) -> None:
    (tmp_path / "bay9.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(InputError, match="is not UTF-8 text"):
        load_profile(str(tmp_path / "bay9.toml"))


def test_a_profile_is_found_in_an_installed_package() -> None:
    assert load_profile("witnessmark_practice:profile.toml").name == "depot bridge fourteen, frames"


def test_a_package_that_is_not_installed_is_named() -> None:
    with pytest.raises(InputError, match="no installed package 'no_such_package'"):
        load_profile("no_such_package:profile.toml")
