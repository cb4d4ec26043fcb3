"""Reads a QR code's SVG back into light and dark modules, from the strokes that a browser would draw."""

from __future__ import annotations

import re

import numpy
import zxingcpp


def modules(svg: str) -> list[list[bool]]:
    """Return the rows of the picture, its quiet zone included; True is dark."""
    size = int(re.search(r'viewBox="0 0 (\d+) \d+"', svg).group(1))  # type: ignore[union-attr]
    dark = next(one for one in re.findall(r"<path[^>]*>", svg) if "qr-ink" in one)
    path = re.search(r' d="([^"]*)"', dark).group(1)  # type: ignore[union-attr]
    rows = [[False] * size for _ in range(size)]
    x = y = 0.0
    for letter, words in re.findall(r"([MmhH])([^MmhH]*)", path):
        numbers = [float(word) for word in re.findall(r"-?[\d.]+", words)]
        if letter == "M":
            x, y = numbers
        elif letter == "m":
            x, y = x + numbers[0], y + numbers[1]
        else:
            assert letter == "h" and y % 1 == 0.5
            for column in range(int(x), int(x + numbers[0])):
                rows[int(y)][column] = True
            x += numbers[0]
    return rows


def read(svg: str) -> str:
    """Return what another program (zxing-cpp) reads off the picture."""
    rows = numpy.array(modules(svg), dtype=numpy.uint8)
    found = zxingcpp.read_barcodes(numpy.kron((1 - rows) * 255, numpy.ones((6, 6), dtype=numpy.uint8)))
    assert len(found) == 1
    return bytes(found[0].bytes).decode("utf-8")
