"""A bay for tests of the command line: its folder, an open job, and commands run as a user would."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

import witnessmark_practice
from witnessmark.cli.failure import tell
from witnessmark.cli.main import witnessmark
from witnessmark.clock import NS
from witnessmark.host.shop import Shop
from witnessmark.journal import personal
from witnessmark.journal.entry import Entry

DATA = Path(witnessmark_practice.__file__).parent / "data"
MAP, PROCEDURE = DATA / "map.json", DATA / "procedure.toml"
VIN = "1M8GDM9AXKP042788"
"""The published example with check digit X (49 CFR 565)."""


def at(text: str) -> int:
    """Return a moment of 2026-03-02, as this machine reckons it."""
    return round(datetime.fromisoformat(f"2026-03-02T{text}").timestamp()) * NS


@dataclass
class Bay:
    """One bay's folder. `run` gives what a user sees: output, and the exit code of `main`."""

    folder: Path
    by: str = "t-otter"

    def run(self, *words: object, typed: str = "") -> Result:
        """Run one command in this process; an error becomes the text and exit code that a user gets."""
        result = CliRunner().invoke(
            witnessmark, [str(word) for word in words], input=typed, env=self.environment, catch_exceptions=True
        )
        if isinstance(result.exception, Exception):
            result.exit_code = tell(result.exception)
        return result

    def fine(self, *words: object, typed: str = "") -> str:
        """Run one command that must succeed, and return what it printed."""
        result = self.run(*words, typed=typed)
        assert result.exit_code == 0, (result.output, result.exception)
        return result.stdout

    def process(self, *words: object, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
        """Run one command as a process of its own."""
        script = f"import sys; from witnessmark.cli.main import main; sys.argv[1:] = {[*map(str, words)]!r}; main()"
        return self.python(script, folder)

    def python(self, script: str, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
        """Run a script as a process of its own, in this bay, warnings being errors."""
        command = [sys.executable, "-W", "error", "-c", script]
        env = {"PATH": "/usr/bin:/bin", "HOME": str(self.folder), **self.environment}
        return subprocess.run(command, capture_output=True, text=True, env=env, cwd=folder, check=False)

    @property
    def environment(self) -> dict[str, str]:
        return {"WITNESSMARK_SHOP": str(self.folder), "WITNESSMARK_PERSON": self.by}

    @property
    def shop(self) -> Shop:
        return Shop(self.folder)

    def open_job(self, *more: object) -> str:
        """Open a job and return its id."""
        words = ("--procedure", PROCEDURE, "--map", MAP, "--grade", "told", "--vehicle", "depot-14", *more)
        return self.fine("job", "open", *words).split()[1]

    def key(self, passphrase: str = "long words") -> Path:
        """Make the shop's key; return a file with its passphrase."""
        path = self.folder / "passphrase"
        self.folder.mkdir(exist_ok=True)
        path.write_text(passphrase + "\n", encoding="utf-8")
        self.fine("key", "new", "--passphrase-file", path)
        return path

    def entries(self, job: str | None = None, kind: str | None = None) -> list[Entry]:
        with self.shop.read() as journal:
            return list(journal.entries(job, kind=kind))

    def words(self, entry: Entry) -> dict[str, Any]:
        """Return the body of an entry with what is kept beside it."""
        with self.shop.read() as journal:
            shown: dict[str, Any] = personal.shown(entry.body, personal.values_of(journal, entry.job or ""))
            return shown
