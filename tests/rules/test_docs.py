"""What a page shows was run: the blocks between cog markers are what the code gives today."""

from __future__ import annotations

import subprocess
import sys

import msgspec
import pytest

from tests.docs import picture
from tests.rules.source import ROOT
from witnessmark.procedure import model
from witnessmark.procedure.handwork import DANGEROUS
from witnessmark.procedure.words import READINGS

PAGES = ("README.md", "DEVELOPERS.md", "docs/for-the-lead.md", "docs/iso-tp.md", "docs/procedure.md")
PARTS = [one for one in vars(model).values() if isinstance(one, type) and issubclass(one, model.Strict)]


def test_the_pages_show_what_the_code_gives_today() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "cogapp", "--check", "--diff", *PAGES],
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


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.__name__)
def test_every_key_of_a_procedure_is_told_on_its_page(part: type[msgspec.Struct]) -> None:
    page = (ROOT / "docs/procedure.md").read_text("utf-8")
    ways = {one: (f"`{one}`", f"`[{one}]`", f"`[[{one}]]`") for one in part.__struct_fields__}
    assert [one for one, told in ways.items() if not any(each in page for each in told)] == []


def test_every_reading_of_a_procedure_is_told_on_its_page_with_its_dimension() -> None:
    page = (ROOT / "docs/procedure.md").read_text("utf-8")
    assert [one for one, of in READINGS.items() if f"| `{one}` | {of or 'any'} |" not in page] == []


def test_every_word_of_a_step_that_needs_a_caution_is_told_beside_that_key() -> None:
    page = (ROOT / "docs/procedure.md").read_text("utf-8")
    (line,) = (one for one in page.splitlines() if one.startswith("| `caution` |"))
    assert [one for one in DANGEROUS if f"`{one}`" not in line] == []
