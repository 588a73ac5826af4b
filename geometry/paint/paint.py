"""Paint: the colours that a maker chose, for finishes and for boards."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..errors import BadSettingError
from ..part import PaintRole, PartKind
from .contrast import readable

__all__ = ["CHAR", "OF_BOARD", "Paint", "Scheme"]

#: What a beam leaves of wood, as a line shows it on bare board.
CHAR = "#33210f"

#: Kinds of parts that are of the building's own board; tiles and trim are of others.
OF_BOARD = frozenset(set(PartKind) - {PartKind.TILE, PartKind.DARK_TILE, PartKind.TRIM, PartKind.COUPON, PartKind.CASE})

#: Letters of a colour after its "#".
_DIGITS = frozenset("0123456789abcdef")


def _check(what: str, *colours: str) -> None:
    """Raise BadSettingError for what is no colour; an empty one stands for none."""
    for colour in colours:
        if colour and not (len(colour) == 7 and colour[0] == "#" and _DIGITS.issuperset(colour[1:])):
            raise BadSettingError(f"The colour '{colour}' of {what} cannot be read; write it like #ece2cc.")


@dataclass(frozen=True, slots=True)
class Scheme:
    """The colours of one finish, empty where none is chosen: then the units, or what they lie on, have the main one.

    main: of its units; units: of timbers, headers or every other cell; around: round openings; lines: a wash that
    stays in the lines.
    """

    main: str
    units: str = ""
    around: str = ""
    lines: str = ""

    def __post_init__(self) -> None:
        _check("a finish", self.main, self.units, self.around, self.lines)


@dataclass(frozen=True, slots=True)
class Paint:
    """All colours of a building, empty where none is chosen; boards are then shown by what they are.

    schemes: by the names of the finishes. bare: of the board itself. leaf: doors and shutters that hang in their
    openings. tile, dark_tile: of a floor of two boards.
    score: whether the lines between two colours of one face are scored, so that stain stops there.
    """

    schemes: Mapping[str, Scheme] = field(default_factory=dict)
    bare: str = ""
    trim: str = ""
    leaf: str = ""
    tile: str = ""
    dark_tile: str = ""
    score: bool = False

    def __post_init__(self) -> None:
        _check("the building", self.bare, self.trim, self.leaf, self.tile, self.dark_tile)

    def colour_of(self, finish: str, role: PaintRole) -> str:
        """Return the colour of a role of a finish, empty where none is chosen.

        >>> Paint({"brick": Scheme("#8c3b2a")}).colour_of("brick", PaintRole.AROUND)
        '#8c3b2a'
        """
        scheme = self.schemes.get(finish)
        match role:
            case PaintRole.MAIN | PaintRole.UNITS | PaintRole.AROUND:
                if scheme is None:
                    return self.bare
                return {PaintRole.UNITS: scheme.units, PaintRole.AROUND: scheme.around}.get(role, "") or scheme.main
            case PaintRole.LEAF:
                return self.leaf
            case PaintRole.TRIM:
                return self.trim
            case PaintRole.TILE:
                return self.tile
            case PaintRole.DARK_TILE:
                return self.dark_tile

    def line_on(self, finish: str, role: PaintRole) -> str:
        """Return the colour that lines of a finish show on a role of it: char or their wash, so that they are read."""
        scheme = self.schemes.get(finish)
        wished = CHAR if scheme is None or not scheme.lines else scheme.lines
        ground = self.colour_of(finish, role)
        return readable(wished, ground) if ground else wished
