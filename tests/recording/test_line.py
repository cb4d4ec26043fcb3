"""Lines: which belong together by standard (ISO 15765-4, ISO 15765-2:2016 9.7, ISO 13400-2)."""

import pytest

from witnessmark.recording.line import Line, is_functional, is_legislated, may_answer, standard_partner


def line(text: str, channel: str = "can0") -> Line:
    number, _, ext = text.partition("/")
    if ">" in number:
        source, target = number.split(">")
        return Line(channel, int(source, 16) << 16 | int(target, 16), 32)
    width = 29 if len(number) == 8 else 11
    return Line(channel, int(number, 16), width, int(ext, 16) if ext else None)


@pytest.mark.parametrize("name", ["7E8", "001", "18DAF110", "00000123", "0E80>1010", "6F1/12", "18CEF110/42"])
def test_a_line_is_named_as_people_write_it(name):
    assert line(name).name == name


@pytest.mark.parametrize(
    ("answer", "partner"),
    [
        ("7E8", "7E0"),
        ("7BB", "7B3"),
        ("007", None),
        ("612/F1", None),
        ("18DAF110", "18DA10F1"),
        ("18CEF110/42", "18CE10F1/42"),
        ("18FEF100", None),
        ("1010>0E80", "0E80>1010"),
    ],
)
def test_the_partner_that_the_identifiers_alone_tell(answer, partner):
    assert standard_partner(line(answer)) == (None if partner is None else line(partner))


@pytest.mark.parametrize(
    ("name", "kept"), [("7DF", 1), ("7EF", 1), ("7BB", 0), ("7E8/01", 0), ("18DB33F1", 1), ("18FEF100", 0)]
)
def test_identifiers_that_a_standard_keeps_for_diagnostics(name, kept):
    assert is_legislated(line(name)) == bool(kept)


@pytest.mark.parametrize(
    ("name", "many"),
    [
        ("7DF", 1),
        ("7E0", 0),
        ("18DB33F1", 1),
        ("18DA10F1", 0),
        ("0E80>E400", 1),
        ("0E80>E000", 1),
        ("0E80>EFFF", 1),
        ("0E80>DFFF", 0),
        ("0E80>F000", 0),
    ],
)
def test_functional_lines(name, many):
    assert is_functional(line(name)) == bool(many)


@pytest.mark.parametrize(
    ("request_", "answer", "may"),
    [
        ("7DF", "7E8", True),
        ("7DF", "72D", True),
        ("7DF", "7DF", False),
        ("7DF", "18DAF110", False),
        ("7DF", "612/F1", False),
        ("18DB33F1", "18DAF110", True),
        ("18DB33F1", "18DAF210", False),
        ("0E80>E400", "1010>0E80", True),
        ("0E80>E400", "1010>0E81", False),
    ],
)
def test_which_lines_may_answer_a_functional_request(request_, answer, may):
    assert may_answer(line(request_), line(answer)) is may
    assert not may_answer(line(request_), line(answer, "can1"))
