"""Sentences to the maker that hold the places they name as values, apart from the words.

A rule knows a face by the host's number, the maker knows it as "front wall, left". Who has the names of the places
says the sentence with them; ``str`` says it with the host's numbers, for example where a model could not be read.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar

__all__ = ["MOST_LISTED", "EdgeRef", "FaceRef", "Listed", "PointRef", "Ref", "Sentence", "listing"]

#: So many faces or edges are listed; of more the sentence says that there are more.
MOST_LISTED = 6


@dataclass(frozen=True, slots=True)
class FaceRef:
    """A face of the host by its number; source: the object that has it, None where any object may."""

    number: int
    source: str | None = None

    kind: ClassVar[str] = "face"


@dataclass(frozen=True, slots=True)
class EdgeRef:
    """An edge of the host by its number; source: the object that has it, None where any object may."""

    number: int
    source: str | None = None

    kind: ClassVar[str] = "edge"


@dataclass(frozen=True, slots=True)
class PointRef:
    """A point of the model, mm."""

    point: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Listed:
    """Several faces, or several edges, named in one list; at least one."""

    refs: tuple[FaceRef, ...] | tuple[EdgeRef, ...]


Ref = FaceRef | EdgeRef | PointRef | Listed

#: Gives the words for a place. It also gets whether the sentence goes on behind a space: a name that has a comma in it
#: then ends with one.
Naming = Callable[[Ref, bool], str]


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence as its pieces in order, words and places.

    >>> str(Sentence.of("The side of ", FaceRef(3, "House"), " is 2 mm long."))
    'The side of face 3 is 2 mm long.'
    >>> str(Sentence.of(Listed((EdgeRef(4), EdgeRef(7))), " cross ", PointRef((1.0, 2.0, 0.0)), "."))
    'Edges 4 and 7 cross at x 1.0, y 2.0, z 0.0 mm.'
    """

    pieces: tuple[str | Ref, ...]

    @classmethod
    def of(cls, *pieces: str | Ref | Sentence) -> Sentence:
        """Return the sentence of these pieces; pieces of a sentence among them become its own."""
        whole: list[str | Ref] = []
        for piece in pieces:
            whole += piece.pieces if isinstance(piece, Sentence) else (piece,)
        return cls(tuple(whole))

    def say(self, naming: Naming) -> str:
        """Return the sentence in full, with the words of ``naming`` for places and a capital letter first."""
        said = ""
        for piece, following in zip(self.pieces, (*self.pieces[1:], ""), strict=True):
            goes_on = isinstance(following, str) and following.startswith(" ")
            said += piece if isinstance(piece, str) else naming(piece, goes_on)
        return said[:1].upper() + said[1:]

    def __str__(self) -> str:
        return self.say(_numbered)


def listing(names: Sequence[str], *, more: bool = False) -> str:
    """Return names as a list in words; more: whether it says that there are more.

    >>> listing(["ridge", "hip", "valley"]), listing(["ridge"], more=True)
    ('ridge, hip and valley', 'ridge and more')
    """
    told = [*names, "more"] if more else list(names)
    if len(told) < 2:
        return told[0]
    # a name that says "left" behind a comma ends with one
    return f"{', '.join(told[:-1])}{',' if ', ' in told[-2] else ''} and {told[-1]}"


def _numbered(ref: Ref, _goes_on: bool) -> str:
    """Return the words for a place by the numbers of the host."""
    if isinstance(ref, PointRef):
        return "at x {:.1f}, y {:.1f}, z {:.1f} mm".format(*ref.point)
    refs = ref.refs if isinstance(ref, Listed) else (ref,)
    numbers = [str(one.number) for one in refs]
    words = listing(numbers[:MOST_LISTED], more=len(numbers) > MOST_LISTED)
    return f"{refs[0].kind}{'s' if len(refs) > 1 else ''} {words}"
