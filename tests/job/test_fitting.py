"""What is said when documents come together, because it would be refused before every send or hold nothing."""

from __future__ import annotations

from typing import Any

import pytest
from tests.job.learned import learned_map
from tests.job.stand import MAP, PROCEDURE
from tests.procedure.kept import kept

from witnessmark.errors import InputError, LocalError
from witnessmark.job.allowed.fitting import require_asked, require_described, require_sendable
from witnessmark.mapping.load import from_document
from witnessmark.mapping.model import ProtocolMap

KNOWN = kept(PROCEDURE)


def with_pump(**changes: Any) -> ProtocolMap:
    document = learned_map()
    document["wire_commands"][0] |= changes
    return from_document(document)


def test_what_is_never_sent_is_named_with_why_and_only_where_it_is_meant() -> None:
    wrong = with_pump(cool_down_s=1)
    with pytest.raises(LocalError, match=r"pump is never sent: the map asks 1 s of rest.* 15200 ms") as refused:
        require_sendable(wrong, {"pump"}, hint="another map")
    assert refused.value.hint == "another map"
    require_sendable(wrong, {"valve"}, hint="")
    require_sendable(with_pump(), {"pump", "valve"}, hint="")


def test_a_precondition_that_nobody_asks_refuses() -> None:
    moon = with_pump(preconditions=["moon"])
    for procedure in (None, KNOWN):
        with pytest.raises(InputError, match="pump has the precondition 'moon'"):
            require_asked(moon, {"pump"}, procedure)
        require_asked(moon, {"valve"}, procedure)


def test_a_precondition_holds_that_the_map_reads_or_the_procedure_asks_or_that_is_always_asked() -> None:
    name = KNOWN.preconditions[0].name
    require_asked(with_pump(preconditions=[name, "speed"]), {"pump"}, KNOWN)
    require_asked(with_pump(preconditions=[MAP["conditions"][0]["name"]]), {"pump"}, None)


@pytest.mark.parametrize("words", ["", "  "])
def test_a_wire_command_without_words_refuses(words: str) -> None:
    with pytest.raises(InputError, match="nothing says what pump does"):
        require_described(with_pump(words=words), {"pump"})


def test_an_address_for_all_that_listening_cannot_have_learned_refuses() -> None:
    document = learned_map()
    require_described(from_document(document | {"address": {"request": "7A0", "answer": "7A8"}}), {"pump"})
    wrong = {"request": "7A0", "answer": "7A8", "functional": "6C0"}
    with pytest.raises(InputError, match="6C0 is no address that a standard gives"):
        require_described(from_document(document | {"address": wrong}), {"pump"})
    require_described(from_document(MAP | {"address": wrong}), {"pump"})
