"""An interface that cannot be opened: each way is told apart, whatever library wrapped the system's error."""

from __future__ import annotations

import errno
import grp
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import serial
from click.testing import CliRunner

from witnessmark.cli.main import witnessmark
from witnessmark.errors import InputError, LinkError
from witnessmark.link.refusal import cannot_open

PORT = ("kline:{}", "prompt:{}?profile=witnessmark_practice:profile.toml", "canbus:slcan/{}?bitrate=500000")
"""The shipped addresses of a serial port."""


def wrapped(number: int) -> Exception:
    """An error as a library gives it: the system's, with another around it that keeps no number."""
    try:
        try:
            raise OSError(number, os.strerror(number))
        except OSError as error:
            raise serial.SerialException(f"could not open: {error}") from error
    except serial.SerialException as outer:
        return outer


@pytest.mark.parametrize(
    ("number", "kind", "what"),
    [
        (errno.EACCES, "permission", "no permission to open /dev/port"),
        (errno.EPERM, "permission", "no permission to open /dev/port"),
        (errno.EBUSY, "busy", "another program has /dev/port"),
        (errno.EAGAIN, "busy", "another program has /dev/port"),
        (errno.ENOENT, "missing", "there is no interface at /dev/port"),
        (errno.ENXIO, "missing", "there is no interface at /dev/port"),
        (errno.EIO, "missing", f"/dev/port cannot be opened ({os.strerror(errno.EIO)})"),
    ],
)
def test_each_way_has_its_kind_also_inside_another_error(number: int, kind: str, what: str) -> None:
    for error in (OSError(number, "x"), wrapped(number)):
        refused = cannot_open("/dev/port", error, write="any:PORT")
        assert isinstance(refused, LinkError)
        assert (refused.kind, refused.what, refused.reached) == (kind, what, "nothing") and refused.hint


@pytest.mark.parametrize("number", [errno.ENOTTY, errno.EISDIR, errno.ENOTDIR])
def test_what_is_no_port_is_a_wrong_address(number: int) -> None:
    refused = cannot_open("/etc", wrapped(number), write="any:PORT")
    assert isinstance(refused, InputError) and "no port of an interface" in refused.what
    assert refused.place == "/etc" and refused.hint == "write any:PORT"


def test_what_only_the_library_refuses_keeps_its_words() -> None:
    refused = cannot_open("warp://1", ValueError("invalid URL"), write="any:PORT")
    assert isinstance(refused, InputError) and refused.what == "it cannot be opened: invalid URL"


def check(address: str) -> str:
    shown = CliRunner().invoke(witnessmark, ["adapters", "check", address])
    assert shown.exit_code == 1, shown.output
    assert "  do:    " in shown.output
    return shown.output


@pytest.fixture
def port() -> Iterator[str]:
    master, slave = os.openpty()
    yield os.ttyname(slave)
    os.close(slave)
    os.close(master)


@pytest.mark.parametrize("address", PORT)
def test_the_check_tells_a_port_that_another_program_has(address: str, port: str) -> None:
    with serial.Serial(port, exclusive=True):
        assert f"cannot be opened (busy): another program has {port}" in check(address.format(port))


@pytest.mark.parametrize("address", PORT)
def test_the_check_tells_a_port_that_is_not_there_and_a_file_that_is_none(address: str, tmp_path: Path) -> None:
    absent = check(address.format("/dev/no-such-port"))
    assert "cannot be opened (missing): there is no interface at /dev/no-such-port\n" in absent
    assert "`witnessmark adapters find`" in absent
    (tmp_path / "plain").write_text("no port", encoding="utf-8")
    assert "it is no port of an interface" in check(address.format(tmp_path / "plain"))


@pytest.mark.skipif(
    not sys.platform.startswith("linux") or os.geteuid() != 0, reason="only the superuser can put its rights away"
)
@pytest.mark.parametrize("address", PORT)
def test_the_check_tells_a_missing_right_and_whose_it_is(address: str, port: str) -> None:
    """The superuser without capabilities reads its own files, and nothing that is another's alone."""
    os.chmod(port, 0o660)
    os.chown(port, 65534, 65534)
    script = (
        "import ctypes; from witnessmark.cli.main import witnessmark as command\n"
        "version_3 = 0x20080522  # linux/capability.h; all sets are emptied\n"
        "assert ctypes.CDLL(None).capset((ctypes.c_uint32 * 2)(version_3, 0), (ctypes.c_uint32 * 6)()) == 0\n"
        f"command(['adapters', 'check', {address.format(port)!r}, '--listen'])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert f"cannot be opened (permission): no permission to open {port}" in done.stdout, done.stdout + done.stderr
    assert f"join the group {grp.getgrgid(65534).gr_name}, which owns the port" in done.stdout
