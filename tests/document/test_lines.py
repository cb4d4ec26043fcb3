"""Every key of a TOML text is found on its line, whatever stands around it."""

from __future__ import annotations

from witnessmark.document.lines import line_of, lines

TEXT = '''a = 1   # one
b.c = "x # not a remark"
"quoted key" = 2
list = [
  1, # ] not the end
  "]",
]
long = """
[not a table]
d = 4
"""
late = 5
[table]
e = \'\'\'
[neither] \'\'\'
f = { g = [ { h = 1 } ] }
[[many]]
i = 1
[[many]]
i = 2
[many.inner]
j = 3
[[many.deep]]
k = 4
[[many.deep]]
k = 5
'''


def test_each_key_has_its_line() -> None:
    found = lines(TEXT)
    assert found == {
        ("a",): 1,
        ("b",): 2,
        ("b", "c"): 2,
        ("quoted key",): 3,
        ("list",): 4,
        ("long",): 8,
        ("late",): 12,
        ("table",): 13,
        ("table", "e"): 14,
        ("table", "f"): 16,
        ("many", 0): 17,
        ("many", 0, "i"): 18,
        ("many", 1): 19,
        ("many", 1, "i"): 20,
        ("many", 1, "inner"): 21,
        ("many", 1, "inner", "j"): 22,
        ("many", 1, "deep", 0): 23,
        ("many", 1, "deep", 0, "k"): 24,
        ("many", 1, "deep", 1): 25,
        ("many", 1, "deep", 1, "k"): 26,
    }


def test_a_key_inside_a_value_has_the_line_of_the_value() -> None:
    assert line_of(("table", "f", "g", 0, "h"), lines(TEXT)) == 16
    assert line_of(("many", 1, "missing"), lines(TEXT)) == 19
    assert line_of(("nowhere",), lines(TEXT)) == 0


def test_windows_line_ends_count_as_one() -> None:
    assert lines("a = 1\r\nb = [\r\n 1]\r\nc = 2\r\n") == {("a",): 1, ("b",): 2, ("c",): 4}
