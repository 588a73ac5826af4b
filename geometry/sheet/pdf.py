"""Pages of vectors as a PDF file: filled shapes, lines and Helvetica text, true to size.

Only what every reader must know is used (ISO 32000-1: content streams in 8.5, text in 9.4, the standard
fonts in 9.6.2.2). The file has no dates and no chance in it, so that the same page is the same bytes.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from .fills import STROKE

__all__ = ["Shape", "Words", "write_pdf"]

_POINTS = 72 / 25.4


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Lines on a page, (k, 2) mm each, y up; filled by the even-odd rule where ``fill`` is a colour like #rrggbb.

    dash: lengths drawn and left out in turn, mm; none for a line without gaps.
    """

    lines: tuple[np.ndarray, ...]
    stroke: str = STROKE
    fill: str | None = None
    width: float = 0.2
    closed: bool = False
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text; ``at`` is the left end of its baseline, mm, y up; ``size`` of the face in mm."""

    text: str
    at: tuple[float, float]
    size: float
    colour: str = "#222222"


def write_pdf(size: tuple[float, float], *pages: Iterable[Shape | Words], title: str) -> bytes:
    """Return a PDF file of pages of this (width, height), mm, each with its marks from back to front.

    Characters that Windows Latin 1 lacks become question marks in text, the title keeps them.
    """
    box = f"[0 0 {size[0] * _POINTS:.3f} {size[1] * _POINTS:.3f}]"
    first = 5  # catalogue, pages, font, title come before
    kids = " ".join(f"{first + 2 * k} 0 R" for k in range(len(pages)))
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>".encode(),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
        f"<< /Title <feff{title.encode('utf-16-be', 'replace').hex()}> >>".encode(),
    ]
    for k, marks in enumerate(pages):
        content = zlib.compress("\n".join(_drawn(mark) for mark in marks).encode("latin-1"), 9)
        objects.append(
            f"<< /Type /Page /Parent 2 0 R /MediaBox {box} /Contents {first + 2 * k + 1} 0 R "
            "/Resources << /Font << /F 3 0 R >> >> >>".encode()
        )
        objects.append(b"<< /Length %d /Filter /FlateDecode >>\nstream\n" % len(content) + content + b"\nendstream")
    return _file(objects, info=4)


def _file(objects: Sequence[bytes], *, info: int) -> bytes:
    """Return numbered objects with header, cross-reference table and trailer (ISO 32000-1, 7.5)."""
    data = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    places = []
    for number, body in enumerate(objects, 1):
        places.append(len(data))
        data += b"%d 0 obj\n" % number + body + b"\nendobj\n"
    table = len(data)
    data += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    data += b"".join(b"%010d 00000 n \n" % place for place in places)
    data += b"trailer\n<< /Size %d /Root 1 0 R /Info %d 0 R >>\n" % (len(objects) + 1, info)
    data += b"startxref\n%d\n%%%%EOF\n" % table
    return bytes(data)


def _drawn(mark: Shape | Words) -> str:
    if isinstance(mark, Words):
        plain = mark.text.encode("cp1252", "replace").decode("latin-1")
        plain = "".join(character if character >= " " else " " for character in plain)
        escaped = plain.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
        x, y = (value * _POINTS for value in mark.at)
        return f"BT {_colour(mark.colour)} rg /F {mark.size * _POINTS:.3f} Tf {x:.3f} {y:.3f} Td ({escaped}) Tj ET"
    paths = []
    for line in mark.lines:
        steps = [f"{x:.3f} {y:.3f}" for x, y in (np.asarray(line) * _POINTS).tolist()]
        paths.append(f"{steps[0]} m " + " ".join(f"{step} l" for step in steps[1:]) + (" h" if mark.closed else ""))
    paint = "B*" if mark.fill else "S"
    fill = f"{_colour(mark.fill)} rg " if mark.fill else ""
    dash = " ".join(f"{length * _POINTS:.3f}" for length in mark.dash)
    return (
        f"{fill}{_colour(mark.stroke)} RG {mark.width * _POINTS:.3f} w [{dash}] 0 d\n" + "\n".join(paths) + f"\n{paint}"
    )


def _colour(colour: str) -> str:
    return " ".join(f"{int(colour[k : k + 2], 16) / 255:.3f}" for k in (1, 3, 5))
