"""What a page shows was run: the blocks between cog markers are what the code gives today."""

from __future__ import annotations

import subprocess
import sys

from tests.docs import picture
from tests.rules.source import ROOT


def test_the_pages_show_what_the_code_gives_today() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "cogapp", "--check", "--diff", "README.md", "DEVELOPERS.md", "docs/iso-tp.md"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, f"run make docs\n{done.stdout}{done.stderr}"


def test_the_picture_of_the_readme_shows_what_a_sheet_says_today() -> None:
    assert picture.kept(picture.PICTURE.read_bytes()) == picture.words(picture.html()), "run make docs"


def test_a_picture_keeps_the_digest_it_was_given_last_and_stays_a_picture() -> None:
    before = picture.PICTURE.read_bytes()
    after = picture.keep(picture.keep(before, "00"), "ab" * 32)
    assert picture.kept(after) == "ab" * 32 and after.count(b"tEXt") == 1
    assert picture.keep(after, picture.kept(before)) == before


def test_another_word_on_page_one_is_another_digest_and_one_in_a_finding_is_not() -> None:
    page = picture.html()
    assert picture.words(page.replace("What was done", "What was left")) != picture.words(page)
    assert picture.words(page.replace("All entries", "Every entry")) == picture.words(page)
