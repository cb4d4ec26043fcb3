"""The bay's terminal as a technician meets it: a real terminal, real keys, the practice truck on its serial port."""

from __future__ import annotations

import os
import pty
import re
import select
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from witnessmark.cli.bay.dialog import LEAVE_SO
from witnessmark.clock import NS, SystemClock
from witnessmark.host import plugins
from witnessmark.host.shop import Shop
from witnessmark.host.truck import Truck

DATA = Path(__file__).resolve().parents[2] / "plugins" / "witnessmark_practice" / "data"
WITHIN_S = 60
OWN_TERMINAL = "import fcntl, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
"""Makes the pseudo-terminal the one whose keys send signals, as a shell's is."""


class Terminal:
    """A command on a pseudo-terminal. `text` is what stands there, without colours, since the last `press`."""

    def __init__(self, *command: str, term: str = "xterm") -> None:
        self._fd, theirs = pty.openpty()
        environment = {**os.environ, "TERM": term, "COLUMNS": "120", "LINES": "40"}
        self.process = subprocess.Popen(
            [sys.executable, "-c", OWN_TERMINAL + "from witnessmark.cli.main import main; main()", *command],
            stdin=theirs, stdout=theirs, stderr=theirs, env=environment, start_new_session=True,
        )  # fmt: skip
        os.close(theirs)
        self.text = ""

    def press(self, keys: str) -> None:
        self.text = ""
        os.write(self._fd, keys.encode())

    def wait_for(self, words: str) -> None:
        """Read until `words`, a pattern, stand on the screen. Fails with the screen when they do not come."""
        end_ns = SystemClock().mono_ns() + WITHIN_S * NS
        while not re.search(words, self.text):
            left_s = (end_ns - SystemClock().mono_ns()) / NS
            assert left_s > 0 and self._read(left_s), f"{words!r} never came:\n{self.text[-3000:]}"

    def end(self) -> int:
        while self._read(WITHIN_S):
            pass
        os.close(self._fd)
        return self.process.wait(WITHIN_S)

    def _read(self, wait_s: float) -> bool:
        if not select.select([self._fd], [], [], wait_s)[0]:
            return False
        try:
            data = os.read(self._fd, 65_536)
        except OSError:  # the other side has closed the terminal
            return False
        self.text += re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", data.decode(errors="replace"))
        return bool(data)


@pytest.fixture
def bay(tmp_path: Path) -> Iterator[tuple[Path, str]]:
    """A truck, a shop, an approved map and an open job: the shop's folder and the job."""
    with Truck(tmp_path / "yard", 2) as truck:  # slow: a key must come in time on a busy machine
        shop = str(tmp_path / "shop")
        run("job", "open", "--procedure", str(DATA / "procedure.toml"), "--map", str(DATA / "map.json"),
            "--link", truck.address, "--vehicle", "depot-14", "--by", "tech-7", "--shop", shop)  # fmt: skip
        run("protocol", "approve", str(DATA / "map.json"), "--by", "lead-1", "--shop", shop)
        yield tmp_path / "shop", Shop(tmp_path / "shop").read().jobs()[0].job


def run(*arguments: str) -> str:
    command = [sys.executable, "-c", "from witnessmark.cli.main import main; main()", *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def to_the_first_run(terminal: Terminal) -> None:
    """Do the steps before, and arm the first pass."""
    for words, keys in [
        ("Chock the wheels", "y"), ("boiling point", "150\r"), ("level as it came", "620\r"),
        ("does the container say", "2"), ("been open", "12\r"), ("Draw the old fluid", "560\r"),
        ("upper mark", "700\r"), ("Fit the feed lid", "y"), ("Restore the feed", "2.0\r"),
        ("Open the nipple rear left", "y"), ("[Cc]aliper", "y"), ("OPEN under PRESSURE", "a"),
    ]:  # fmt: skip
        terminal.wait_for(words)
        terminal.press(keys)
    terminal.wait_for("Armed.")


def kinds(shop: Path, job: str) -> list[str]:
    with Shop(shop).read() as journal:
        return [entry.kind for entry in journal.entries(job)]


def last_outcome(shop: Path, job: str) -> dict[str, object]:
    with Shop(shop).read() as journal:
        return [entry.body for entry in journal.entries(job) if entry.kind == "outcome"][-1]


def test_one_key_a_step_and_any_key_stops(bay: tuple[Path, str]) -> None:
    shop, job = bay
    terminal = Terminal("job", "run", job, "--by", "tech-7", "--shop", str(shop))
    to_the_first_run(terminal)
    assert "ANY KEY: STOP" not in terminal.text
    terminal.press("s")
    terminal.wait_for(r"[1-9]\.\d of 10 s")
    assert "ANY KEY: STOP" in terminal.text
    terminal.press("k")
    terminal.wait_for("stop confirmed")
    terminal.wait_for("did not complete")
    leave_as_it_stands(terminal)
    assert terminal.end() == 0
    outcome = last_outcome(shop, job)
    assert (outcome["result"], outcome["stop"]) == ("stopped", "confirmed")
    assert "Traceback" not in terminal.text


def leave_as_it_stands(terminal: Terminal) -> None:
    """Leave with the nipple open: that is asked, and takes another key."""
    terminal.press("q")
    terminal.wait_for("leave it as it stands")
    terminal.press(LEAVE_SO)


@pytest.mark.parametrize("how", ["ctrl-c", "terminal closed"])
def test_ctrl_c_and_a_closed_terminal_send_stop_first(bay: tuple[Path, str], how: str) -> None:
    shop, job = bay
    terminal = Terminal("job", "run", job, "--by", "tech-7", "--shop", str(shop))
    to_the_first_run(terminal)
    terminal.press("s")
    terminal.wait_for(r"[1-9]\.\d of 10 s")
    terminal.process.send_signal(signal.SIGINT if how == "ctrl-c" else signal.SIGHUP)
    terminal.end()
    outcome = last_outcome(shop, job)
    assert (outcome["result"], outcome["stop"]) == ("stopped", "confirmed")
    entries = kinds(shop, job)
    assert entries.index("outcome") > entries.index("intent")


@pytest.mark.parametrize("key", ["\x1a", "\x1c"], ids=["suspend", "quit"])
def test_keys_that_suspend_and_quit_stop_first_and_what_came_of_it_is_told(bay: tuple[Path, str], key: str) -> None:
    shop, job = bay
    terminal = Terminal("job", "run", job, "--by", "tech-7", "--shop", str(shop))
    to_the_first_run(terminal)
    terminal.press("s")
    terminal.wait_for(r"[1-9]\.\d of 10 s")
    terminal.press(key)
    code = terminal.end()
    outcome = last_outcome(shop, job)
    assert (outcome["result"], outcome["stop"], code) == ("stopped", "confirmed", 0), terminal.text[-2000:]
    assert "run stopped; stop confirmed" in terminal.text


def test_the_key_that_freezes_a_screen_stops(bay: tuple[Path, str]) -> None:
    shop, job = bay
    terminal = Terminal("job", "run", job, "--by", "tech-7", "--shop", str(shop))
    to_the_first_run(terminal)
    terminal.press("s")
    terminal.wait_for(r"[1-9]\.\d of 10 s")
    terminal.press("\x13")
    terminal.wait_for("did not complete")
    leave_as_it_stands(terminal)
    assert terminal.end() == 0 and last_outcome(shop, job)["result"] == "stopped"


def test_a_run_that_ends_unknown_after_ctrl_c_is_told_with_the_next_act_and_fails(bay: tuple[Path, str]) -> None:
    shop, job = bay
    terminal = Terminal("job", "run", job, "--by", "tech-7", "--shop", str(shop))
    to_the_first_run(terminal)
    terminal.press("s")
    terminal.wait_for(r"[1-9]\.\d of 10 s")
    with Shop(shop).read() as journal:
        address = str(next(journal.entries(job)).body["link"])
    workshop = plugins.practice(address)
    assert workshop is not None
    workshop.do("fault", "unplugged")
    workshop.close()
    terminal.press("\x03")
    assert terminal.end() == 3
    assert last_outcome(shop, job)["result"] == "unknown"
    assert "hands clear" in terminal.text and "Traceback" not in terminal.text


@pytest.mark.parametrize("term", ["dumb", "unknown", ""])
def test_a_terminal_that_shows_nothing_is_refused_and_no_key_records_a_step(bay: tuple[Path, str], term: str) -> None:
    shop, job = bay
    before = kinds(shop, job)
    terminal = Terminal("job", "run", job, "--by", "tech-7", "--shop", str(shop), term=term)
    terminal.press("y")
    assert terminal.end() != 0
    assert "cannot show the screen" in terminal.text and kinds(shop, job) == before


def test_a_terminal_that_is_torn_away_stops_the_run(bay: tuple[Path, str]) -> None:
    shop, job = bay
    terminal = Terminal("job", "run", job, "--by", "tech-7", "--shop", str(shop))
    to_the_first_run(terminal)
    terminal.press("s")
    terminal.wait_for(r"[1-9]\.\d of 10 s")
    os.close(terminal._fd)
    terminal.process.wait(WITHIN_S)
    outcome = last_outcome(shop, job)
    assert (outcome["result"], outcome["stop"]) == ("stopped", "confirmed")


def test_a_job_that_has_ended_leaves_the_screen_by_itself_and_says_that_it_is_not_released(tmp_path: Path) -> None:
    shop = str(tmp_path / "shop")
    run("job", "open", "--procedure", str(DATA / "vacuum.toml"), "--vehicle", "v", "--by", "tech-7", "--shop", shop)
    job = Shop(tmp_path / "shop").read().jobs()[0].job
    run("job", "abandon", job, "--why", "no parts", "--by", "tech-7", "--shop", shop)
    terminal = Terminal("job", "run", job, "--by", "tech-7", "--shop", shop)
    assert terminal.end() == 0
    assert "The job is abandoned.\r\nNOT RELEASED: DO NOT DRIVE." in terminal.text, "on the shell's own screen"
