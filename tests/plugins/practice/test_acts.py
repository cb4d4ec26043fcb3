"""The list of what hands can do says all that they do, and nothing else."""

from __future__ import annotations

import pytest
from tests.plugins.practice.bay import Bay

from witnessmark.errors import InputError
from witnessmark_practice.acts import ACTS, listed


def test_every_act_of_the_hands_stands_in_the_list_and_no_other() -> None:
    with pytest.raises(InputError) as refused:
        Bay().do("juggle")
    offered = refused.value.hint.removeprefix("one of: ").split(", ")
    assert sorted(offered) == sorted({name for name, _, _ in ACTS})


def test_whatever_can_be_read_stands_in_the_list() -> None:
    with pytest.raises(InputError) as refused:
        Bay().do("read", "tea-leaves")
    told = " ".join(does for name, _, does in ACTS if name == "read")
    assert all(what in told for what in refused.value.hint.removeprefix("one of: ").split(", "))


def test_each_act_has_one_line_that_fits_a_screen() -> None:
    lines = listed().splitlines()
    assert len(lines) == len(ACTS)
    assert max(map(len, lines)) <= 95
