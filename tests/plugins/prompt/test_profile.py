"""Profiles: every mistake is named with its file, its line, its key and what was expected."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.plugins.prompt.teller import PROFILE

from witnessmark.cli.main import witnessmark
from witnessmark.errors import InputError
from witnessmark_prompt.loading import load_profile, parse_profile


def mistake(text: str) -> str:
    with pytest.raises(InputError) as error:
        parse_profile(text, "bay2.toml")
    assert error.value.hint
    return f"{error.value} | {error.value.hint}"


def test_a_right_profile_is_read() -> None:
    profile = parse_profile(PROFILE, "bay2.toml")
    assert (profile.serial.baud, profile.text.prompt, profile.start[0].within_ms) == (115_200, "next? ", 3000)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            'level = "frame"',
            'level = "frames"',
            "bay2.toml line 5, level: 'frames' does not fit here | use one of: 'frame', 'message'",
        ),
        (
            "[text]",
            "[serial]\nbaud = 9\n[text]",
            "bay2.toml line 8, serial.baud: 9 does not fit here | expected a whole number from 50 to 12000000",
        ),
        (
            "[text]",
            "[serial]\nspeed = 9600\n[text]",
            "bay2.toml line 8, serial.speed: key 'speed' is not known | known here: baud, bits,",
        ),
        ('prompt = "next? "', "", "bay2.toml line 7, text.prompt: this key is missing | expected text in quotes"),
        ('prompt = "next? "', 'prompt = "0A "', "bay2.toml line 8, text.prompt: the prompt '0A ' may as well be data"),
        ('prompt = "next? "', 'prompt = " "', "bay2.toml line 8, text.prompt: the prompt ' ' may as well be data"),
        ('prompt = "next? "', 'prompt = "a\\nb"', "bay2.toml line 8, text.prompt: the prompt holds a line end"),
        (
            'line_end = "\\n"',
            'line_end = ";"',
            'bay2.toml line 10, text.line_end: \';\' is not a line end | write "\\r", "\\n" or',
        ),
        (
            "{length}:{data} *{sum}",
            "{length}:{dat} *{sum}",
            "bay2.toml line 18, send.command: {dat} is not a field here | fields here: {id}",
        ),
        ("say {id:3} {length}:{data}", "say {length}:{data}", "bay2.toml line 18, send.command: field {id} is missing"),
        (
            'lines = ["got {id:3}',
            'lines = ["got {id}{time}',
            "bay2.toml line 25, receive.lines[0]: {id} and {time} run into",
        ),
        (
            "got {id:3} {length}:{data}",
            "got {length}:{data}",
            "bay2.toml line 25, receive.lines[0]: field {id} is missing",
        ),
        (
            'remote = ["asked {id:3}"]',
            'remote = ["asked"]',
            "bay2.toml line 26, receive.remote[0]: field {id} is missing",
        ),
        ('[sum]\nkind = "xor8"\nover = "data"', "", "bay2.toml, sum: {sum} is used, but not how it is made"),
        (
            'kind = "xor8"',
            'kind = "md5"',
            "bay2.toml line 29, sum.kind: 'md5' does not fit here | use one of: 'crc16', 'sum8', 'twos8', 'xor8'",
        ),
        (
            'means = "busy"',
            'means = "tired"',
            "bay2.toml line 34, meanings[0].means: 'tired' does not fit here | use one of: 'bus_error',",
        ),
        ('line = "not now"', 'line = "not {now}"', "bay2.toml line 33, meanings[0].line: {now} is not a field here"),
        (
            "[sum]",
            '[abilities]\nlisten = "silent"\n[sum]',
            "bay2.toml line 29, abilities.listen: 'silent', and no commands",
        ),
        (
            "[sum]",
            '[[listen_only]]\nsend = "hush"\n[sum]',
            "bay2.toml line 28, listen_only[0]: commands to listen only",
        ),
        ("[sum]", '[[address]]\nsend = "to"\n[sum]', "bay2.toml line 28, address[0]: frames carry their own address"),
        (
            "within_ms = 200",
            "within_ms = 0",
            "bay2.toml line 21, send.within_ms: 0 does not fit here | expected a whole number from 1 to 600000",
        ),
        ('name = "teller"', 'name = "teller', "bay2.toml line 3: this is not TOML"),
    ],
)
def test_a_wrong_profile_is_refused_with_place_and_reason(old: str, new: str, message: str) -> None:
    assert old in PROFILE
    assert mistake(PROFILE.replace(old, new, 1)).startswith(message)


def test_all_mistakes_of_the_shape_are_told_at_once_by_the_check(tmp_path: Path) -> None:
    profile = tmp_path / "bay2.toml"
    profile.write_text(
        PROFILE.replace('level = "frame"', 'level = "frames"').replace('kind = "xor8"', 'kind = "md5"'),
        encoding="utf-8",
    )
    shown = CliRunner().invoke(witnessmark, ["adapters", "check", f"prompt:/dev/null?profile={profile}"])
    assert shown.exit_code == 1
    assert "line 5, level: 'frames' does not fit here (use one of: 'frame', 'message')" in shown.output
    assert "line 29, sum.kind: 'md5' does not fit here (use one of: 'crc16', 'sum8', 'twos8', 'xor8')" in shown.output


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
