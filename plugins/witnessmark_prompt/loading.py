"""Reads a profile, and names every mistake in it with its file, its line, its key and what was expected.

A file flows in through `load_profile`, a frozen `Profile` flows out. Rules that hold here: all mistakes of its shape
are told at once, then all of its content; what is given out can be talked by.
"""

from __future__ import annotations

import importlib.util
import string
from collections.abc import Callable, Iterator
from pathlib import Path

import msgspec

from witnessmark.document import lines
from witnessmark.document.mistake import Mistake, path_of, refuse
from witnessmark.document.shape import fit
from witnessmark.document.toml import read_toml
from witnessmark.errors import InputError
from witnessmark_prompt.profile import Profile
from witnessmark_prompt.reading import Reading
from witnessmark_prompt.start_up import make_asks


def load_profile(name: str) -> Profile:
    """Read the profile `name`: a path, or `package:file.toml` for one that an installed package ships in its `data`.

    Raises InputError that names the file, the line and the key, and says what was expected.
    """
    path = _locate(name)
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"cannot be read: {error.strerror}", place=str(path), hint="name the interface's profile, profile=FILE.toml"
        ) from error
    except UnicodeDecodeError as error:
        raise InputError("is not UTF-8 text", place=str(path), hint="save it as UTF-8") from error
    return parse_profile(text, str(path))


def parse_profile(text: str, file: str) -> Profile:
    """Read a profile's text; `file` is its name in messages. Raises InputError as `load_profile` does."""
    document = read_toml(text, file)
    found = lines.lines(text)
    fitted, mistakes = fit(document, Profile)
    refuse(file, mistakes, lambda path: lines.line_of(path, found))
    profile = msgspec.convert(fitted, Profile)
    refuse(file, [*_content(profile), *_patterns(profile)], lambda path: lines.line_of(path, found))
    return profile


def _content(profile: Profile) -> Iterator[Mistake]:
    """Yield what fits its key and cannot be meant."""
    text, can = profile.text, profile.abilities
    for key, end in (("command_end", text.command_end), ("line_end", text.line_end)):
        if not set(end) <= {"\r", "\n"}:
            yield Mistake(("text", key), f"{end!r} is not a line end", r'write "\r", "\n" or "\r\n"')
    if text.line_end in text.prompt:
        yield Mistake(("text", "prompt"), "the prompt holds a line end", "write what follows it alone")
    elif set(text.prompt.strip()) <= set(string.hexdigits):
        yield Mistake(
            ("text", "prompt"),
            f"the prompt {text.prompt!r} may as well be data",
            "make the interface give a prompt with a character that is no hex digit",
        )
    if can.listen != "no" and not profile.listen_only:
        yield Mistake(
            ("abilities", "listen"),
            f"{can.listen!r}, and no commands that make it listen only",
            'list them as [[listen_only]], or write listen = "no"',
        )
    if profile.listen_only and can.listen == "no":
        yield Mistake(
            ("listen_only", 0),
            "commands to listen only, and abilities.listen says that it cannot",
            'write abilities.listen = "silent" when it does not even acknowledge frames, else "acknowledging"',
        )
    if profile.address and profile.level == "frame":
        yield Mistake(
            ("address", 0), "frames carry their own address", 'leave [[address]] out, or write level = "message"'
        )


def _patterns(profile: Profile) -> Iterator[Mistake]:
    """Make every pattern ready once, and yield what is wrong in those that cannot be."""
    makes: tuple[Callable[[], object], ...] = (
        lambda: Reading(profile, ""),
        lambda: make_asks(profile.start, "start"),
        lambda: make_asks(profile.listen_only, "listen_only"),
        lambda: make_asks(profile.address, "address", ("request", "answer")),
    )
    for make in makes:
        try:
            make()
        except InputError as error:
            yield Mistake(path_of(error.place.removeprefix(", ")), error.what, error.hint)


def _locate(name: str) -> Path:
    package, colon, file = name.partition(":")
    if not colon or not package.isidentifier() or len(package) == 1:  # one letter is a drive
        return Path(name)
    spec = importlib.util.find_spec(package)
    for folder in (spec.submodule_search_locations if spec else None) or ():
        return Path(folder) / "data" / file
    raise InputError(
        f"no installed package {package!r}", place=f"profile {name}", hint="write a path, or package:file.toml"
    )
