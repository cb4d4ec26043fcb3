from __future__ import annotations

import pytest

from witnessmark.errors import InputError, LocalError
from witnessmark.people.person import Person, require_lead


def test_an_entry_names_a_person_by_id() -> None:
    assert Person("t-otter").actor == "person:t-otter"


@pytest.mark.parametrize("wrong", ["", "-otter", "two words", "a" * 65, "person:otter"])
def test_an_id_of_another_form_is_refused(wrong: str) -> None:
    with pytest.raises(InputError):
        Person(wrong)


def test_a_role_nobody_knows_is_refused() -> None:
    with pytest.raises(InputError, match="owner"):
        Person("t-otter", "owner")  # type: ignore[arg-type]


def test_only_a_lead_may_do_what_a_lead_may() -> None:
    require_lead(Person("l-heron", "lead"), "approve")
    with pytest.raises(LocalError, match="only a shop lead may approve"):
        require_lead(Person("t-otter"), "approve")
