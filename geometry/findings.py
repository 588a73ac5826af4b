"""Findings: what the maker should know about a model, a part or a sheet.

A finding says what, where, by how much and what to do. It is data, never raised or printed;
every outcome of the flow carries its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from .sentence import Sentence

__all__ = ["Finding", "Location", "Severity", "all_places", "gathered", "in_order", "place", "weigh_squares", "worst"]


class Severity(StrEnum):
    """How much a finding weighs: an error stops the sheets, a warning and a note do not."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Location:
    """Where a finding belongs, in ids of the host's mesh; empty fields do not apply.

    ``point`` is in model millimetres; ``source`` names the object whose face and edge ids these are. ``words`` tell
    findings apart that the same title has and no part of the model: a height over the floor, a hand.
    """

    faces: tuple[int, ...] = ()
    edges: tuple[int, ...] = ()
    source: str | None = None
    part: str | None = None
    point: tuple[float, float, float] | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One remark: severity, stable code (a slug), a full sentence, and its place.

    sentence: names the faces, edges and points of the model as values, so that they can be said in the maker's words.
    """

    severity: Severity
    code: str
    sentence: str | Sentence
    where: Location = field(default_factory=Location)

    @property
    def message(self) -> str:
        """The sentence in full; places that have no names yet go by the host's numbers."""
        return str(self.sentence)


def place(point: Iterable[float]) -> tuple[float, float, float]:
    """Return a model point, (3,) mm, as a Location names it."""
    x, y, z = (float(value) for value in point)
    return (x, y, z)


#: What fails in no more than this share of a room's squares is left to the maker: few houses have no dead corner.
#: Common practice, no source.
_FEW = 1.0 / 3.0


def weigh_squares(failing: int, inside: int) -> Severity:
    """Return how much it weighs that so many of a room's squares fail: a note up to a third of them, then a warning.

    >>> weigh_squares(16, 54).value, weigh_squares(40, 54).value
    ('note', 'warning')
    """
    return Severity.WARNING if failing > _FEW * inside else Severity.NOTE


_WEIGHT = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings without repeats, the heaviest first, otherwise in the order given."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda fromkey: _WEIGHT[fromkey.severity]))


def gathered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings with those that say the same of several places of one object made one.

    Its message counts the places, its location names all faces and edges and the first point.
    """
    alike: dict[tuple[Severity, str, str | Sentence, str | None], list[Location]] = {}
    for finding in findings:
        places = alike.setdefault((finding.severity, finding.code, finding.sentence, finding.where.source), [])
        if finding.where not in places:
            places.append(finding.where)
    joined = []
    for (severity, code, sentence, _), places in alike.items():
        if len(places) == 1:
            joined.append(Finding(severity, code, sentence, places[0]))
            continue
        counted = Sentence.of(f"At {len(places)} places: ", sentence)
        joined.append(Finding(severity, code, counted, all_places(places)))
    return tuple(joined)


def all_places(places: Sequence[Location]) -> Location:
    """Return one location for several, at least one: all their faces and edges, and the first point.

    Faces and edges of several objects cannot be told apart, so those of the first object alone are named.
    """
    same = [where for where in places if where.source == places[0].source]
    parts = dict.fromkeys(where.part for where in same)
    return Location(
        faces=tuple(dict.fromkeys(face for where in same for face in where.faces)),
        edges=tuple(dict.fromkeys(edge for where in same for edge in where.edges)),
        source=places[0].source,
        part=next(iter(parts)) if len(parts) == 1 else None,
        point=places[0].point,
    )


def worst(findings: Iterable[Finding]) -> Severity | None:
    """Return the heaviest severity among the findings, or None where there are none.

    >>> note = Finding(Severity.NOTE, "board-warp", "The floor may warp.")
    >>> worst([note]).value
    'note'
    """
    return min((finding.severity for finding in findings), key=_WEIGHT.__getitem__, default=None)
