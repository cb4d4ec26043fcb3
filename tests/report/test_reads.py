"""Plain readings of the control unit are put together; whatever else was on the wire stands by itself."""

from __future__ import annotations

from typing import Any

from witnessmark.report.reads import plain_read, reads


def exchange(seq: int, request: str, answer: str, **other: Any) -> dict[str, Any]:
    answers = [{"source": "6BB", "after_ms": seq, "bytes": answer, "meaning": "", "verdict": "positive"}]
    made = {
        "seq": seq, "at": f"10:00:{seq:02d}", "purpose": "condition", "pass": "p1", "bytes": request,
        "meaning": "ReadDataByIdentifier 0x7001", "result": "positive", "shows_pending": True, "answers": answers,
    }  # fmt: skip
    return made | other


def test_each_request_is_one_line_with_every_different_answer_and_how_often_it_came() -> None:
    asked = [
        exchange(1, "22 70 01", "62 70 01 86"),
        exchange(2, "22 70 01", "62 70 01 85", **{"pass": "p2"}),
        exchange(3, "22 70 01", "62 70 01 85", **{"pass": "p2"}),
        exchange(4, "22 70 02", "62 70 02 00"),
    ]
    volts, speed = reads(asked, {1: ("supply-voltage", "13.4 V"), 2: ("supply-voltage", "13.3 V")})
    assert (volts["what"], volts["count"], volts["passes"], volts["slowest_ms"]) == (
        "supply voltage", 3, ["p1", "p2"], 3
    )  # fmt: skip
    assert volts["answers"] == [{"text": "62 70 01 86", "count": 1}, {"text": "62 70 01 85", "count": 2}]
    assert [one["text"] for one in volts["values"]] == ["13.4 V", "13.3 V"]
    assert volts["cites"] == [1, 2, 3] and (volts["from"], volts["to"]) == ("10:00:01", "10:00:03")
    assert (speed["what"], speed["values"]) == ("0x7001", [])


def test_what_is_no_plain_reading_stands_by_itself() -> None:
    late = exchange(1, "22 70 01", "62 70 01 86")
    late["answers"] = [{**late["answers"][0], "verdict": "late"}]
    twice = exchange(1, "22 70 01", "62 70 01 86")
    twice["answers"] = twice["answers"] * 2
    others = [
        exchange(1, "31 01", "71 01", purpose="start"),
        exchange(1, "22 70 01", "7F 22 31", result="negative"),
        exchange(1, "22 70 01", "62", shows_pending=False),
        late,
        twice,
    ]
    assert [plain_read(one) for one in others] == [False] * 5
    assert reads(others, {}) == []
