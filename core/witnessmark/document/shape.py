"""Does a plain document have the shape of a struct: known keys, right types, nothing needed left out?

A plain document and a struct type flow in; out flow a document that surely converts (what was wrong is left out or
blank) and every mistake. Rule that holds here: one mistake never hides another.
"""

from __future__ import annotations

import difflib
from functools import cache
from typing import Any

import msgspec.inspect as inspect

from witnessmark.document.mistake import Mistake, Path

_WRONG = object()


def fit(document: Any, kind: type) -> tuple[Any, list[Mistake]]:
    """Return `document` made to fit the struct `kind`, and what had to be left out or blanked to make it fit."""
    mistakes: list[Mistake] = []
    wanted = _shape(kind)
    fitted = _fit(document, wanted, (), mistakes)
    return (_blank(wanted) if fitted is _WRONG else fitted), mistakes


@cache
def _shape(kind: type) -> inspect.Type:
    return inspect.type_info(kind)


def _fit(value: Any, kind: inspect.Type, path: Path, mistakes: list[Mistake]) -> Any:
    if isinstance(kind, inspect.UnionType):
        kind = next(one for one in kind.types if not isinstance(one, inspect.NoneType))
    if isinstance(kind, inspect.StructType) and isinstance(value, dict):
        return _fit_table(value, kind, path, mistakes)
    if (
        isinstance(kind, inspect.VarTupleType)
        and isinstance(value, list | tuple)
        and _within(len(value), kind.min_length)
    ):
        items = [_fit(item, kind.item_type, (*path, index), mistakes) for index, item in enumerate(value)]
        return [_blank(kind.item_type) if item is _WRONG else item for item in items]
    if isinstance(kind, inspect.LiteralType) and type(value) in (str, int) and value in kind.values:
        return value
    if isinstance(kind, inspect.IntType) and isinstance(value, int) and not isinstance(value, bool):
        if _within(value, kind.ge, kind.le):
            return value
    elif isinstance(kind, inspect.StrType) and isinstance(value, str):
        if _within(len(value), kind.min_length, kind.max_length):
            return value
    elif isinstance(kind, inspect.BoolType) and isinstance(value, bool):
        return value
    mistakes.append(Mistake(path, f"{_show(value)} does not fit here", _expected(value, kind)))
    return _WRONG


def _fit_table(value: dict[str, Any], kind: inspect.StructType, path: Path, mistakes: list[Mistake]) -> dict[str, Any]:
    fields = {field.encode_name: field for field in kind.fields}
    misspelt = set()
    for key in value:
        if key not in fields:
            meant = difflib.get_close_matches(key, fields, n=1)
            misspelt.update(meant)
            also = (*path, meant[0]) if meant else ()
            mistakes.append(Mistake((*path, key), f"key {key!r} is not known", nearest(key, list(fields)), also))
    fitted = {}
    for name, field in fields.items():
        if name in value:
            item = _fit(value[name], field.type, (*path, name), mistakes)
            if item is not _WRONG:
                fitted[name] = item
        elif field.required and name not in misspelt:
            mistakes.append(Mistake((*path, name), "this key is missing", _expected(None, field.type)))
        if name not in fitted and field.required:
            fitted[name] = _blank(field.type)
    return fitted


def nearest(word: str, known: list[str]) -> str:
    """Return a hint that names the known word nearest to `word`, or all of them when none is near."""
    near = difflib.get_close_matches(word, known, n=1)
    return f"did you mean {near[0]}?" if near else f"known here: {', '.join(sorted(known))}"


def _blank(kind: inspect.Type) -> Any:
    """Return a value that converts and says nothing, to stand where a needed value is missing or wrong."""
    if isinstance(kind, inspect.StructType):
        return {field.encode_name: _blank(field.type) for field in kind.fields if field.required}
    if isinstance(kind, inspect.VarTupleType):
        return [_blank(kind.item_type)] * (kind.min_length or 0)
    if isinstance(kind, inspect.LiteralType):
        return kind.values[0]
    if isinstance(kind, inspect.IntType):
        return kind.ge or 0
    if isinstance(kind, inspect.StrType):
        return " " * (kind.min_length or 0)
    return False if isinstance(kind, inspect.BoolType) else ""


def _is_list(value: Any, kind: inspect.VarTupleType) -> bool:
    return isinstance(value, list | tuple) and _within(len(value), kind.min_length)


def _within(size: int, least: int | None, most: int | None = None) -> bool:
    return (least is None or size >= least) and (most is None or size <= most)


def _expected(value: Any, kind: inspect.Type) -> str:
    if isinstance(kind, inspect.LiteralType):
        words = [repr(word) for word in kind.values if word]
        return f"write {words[0]}" if len(words) == 1 else f"use one of: {', '.join(words)}"
    if isinstance(kind, inspect.StructType):
        names = ", ".join(field.encode_name for field in kind.fields)
        return f"expected a table with keys out of: {names}"
    if isinstance(kind, inspect.VarTupleType) and isinstance(value, dict):
        return "expected a list; a block of one has two brackets in TOML, [[name]]"
    if isinstance(kind, inspect.VarTupleType):
        return "expected a list" + (f" of {kind.min_length} or more" if kind.min_length else "")
    if isinstance(kind, inspect.BoolType):
        return "expected true or false"
    if isinstance(kind, inspect.IntType):
        return f"expected a whole number{_limits(kind.ge, kind.le)}"
    if isinstance(kind, inspect.StrType) and (kind.min_length or kind.max_length):
        return f"expected text in quotes, its length{_limits(kind.min_length, kind.max_length)}"
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f'expected text in quotes, like "{value}"; a quantity with its unit, like "{value} s"'
    return "expected text in quotes"


def _limits(least: int | None, most: int | None) -> str:
    if least is not None and most is not None:
        return f" from {least} to {most}"
    return "" if least is None and most is None else f" of at least {least}" if most is None else f" of at most {most}"


def _show(value: Any) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list" if value else "an empty list"
    return {True: "true", False: "false"}[value] if isinstance(value, bool) else repr(value)
