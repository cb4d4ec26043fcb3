"""How numbers and bytes are spelled in the bodies of entries: as text, for an entry has no floats.

Rule that holds here: a text that is spelled otherwise is refused as it is read, so that nobody computes with it.
"""

from __future__ import annotations

from typing import Annotated

import msgspec

Ns = Annotated[str, msgspec.Meta(pattern=r"^(-?[0-9]{1,20})?\Z")]
"""Whole nanoseconds as text; empty where there are none."""
Hex = Annotated[str, msgspec.Meta(pattern=r"^([0-9A-Fa-f]{2})*\Z")]
"""Bytes as hex text."""
Number = Annotated[str, msgspec.Meta(pattern=r"^[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?\Z")]
"""A decimal number as it was entered."""
