"""The synthetic captures are what they say, and ours loses and invents nothing on small ones of them."""

import pytest

from tests.bench import __main__ as bench
from tests.bench.bench_decode import compared, read
from tests.bench.captures import dense, sparse


@pytest.mark.parametrize("units", [2, 8])
def test_half_of_a_dense_capture_is_single_frames(units):
    capture = dense(4000, units)
    lines = capture.text.splitlines()
    assert len(lines) == capture.frames >= 4000
    singles = sum(line.partition(b"#")[2].startswith(b"0") for line in lines)
    assert 0.48 < singles / capture.frames < 0.52
    sizes = [len(answer) for *_, answer in capture.pairs if len(answer) > 7]
    assert min(sizes) >= 20 and max(sizes) <= 200
    assert len(capture.messages) == 2 * units


@pytest.mark.parametrize(
    "capture", [dense(4000, 2), dense(4000, 8), sparse(20_000)], ids=["2 units", "8 units", "sparse"]
)
def test_every_message_and_pair_of_a_capture_is_read_and_no_other(tmp_path, capture):
    path = tmp_path / "x.log"
    path.write_bytes(capture.text)
    assert compared(read(path), capture).startswith("0 of ")


def test_a_message_too_many_is_noticed(tmp_path):
    capture = dense(400, 2)
    path = tmp_path / "x.log"
    path.write_bytes(capture.text)
    capture.messages["7E0"].append(b"\x3e\x00")
    with pytest.raises(AssertionError, match="messages differ"):
        compared(read(path), capture)


def test_the_parts_are_found_and_an_unknown_one_is_refused(capsys):
    assert {"decode", "journal", "startup"} <= set(bench.parts())
    assert bench.main(["nothing"]) == 2
    assert "decode" in capsys.readouterr().err


def test_figures_stand_in_columns():
    rows = [
        {"name": "a", "value": 1234567, "unit": "x", "note": "n"},
        {"name": "long name", "value": 1.5, "unit": "", "note": ""},
    ]
    assert bench.table(rows) == "  a          1,234,567 x  n\n  long name       1.50"
