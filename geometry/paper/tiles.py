"""The floor of two boards in the guide: what is cut, the laying plan, and how tiles are laid and glued."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import shapely

from ..finish.tiles import OFF_WALLS, Tiling
from ..part import Part, PartKind
from ..sheet.fills import FILLS
from .laying_plan import LaidPiece, laying_plan
from .markup import joined, length, name, plural, table, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["tiles_section"]

#: Square millimetres below which nothing is said of what stays open.
_WORTH_SAYING = 20.0


#: Letters of names in the order of the table: top layers, light pieces, dark ones.
_ORDER = ("FT", "FL", "FD")

#: How far the kerf may lie off what is set, mm: what the defaults are judged at.
_KERF_RANGE = 0.05

#: What pieces that are cut again are called.
_NAMED_AGAIN = "A letter is added to the name of one that has another size: lay FL3a where the plan says FL3."


def tiles_section(outcome: Outcome) -> str:
    """Return the markup of the chapter on a floor of two boards; empty where there is none."""
    tiling = outcome.tiling
    if not tiling.tiles:
        return ""
    if tiling.tops:
        what, ahead, steps = "Piece", _ahead_of_inlay(tiling), _inlay_steps(tiling)
    else:
        what, ahead, steps = "Tile", _ahead_of_tiles(tiling), _steps(tiling)
    listed = "\n".join(f"<li>{step}</li>" for step in steps)
    return f"""<p class="ahead">{ahead}</p>
{table((what, "Board", "Size, mm", "To lay", "Spare"), _rows(outcome), numbers=(3, 4))}
<figure>{_plan(outcome)}<figcaption>The laying plan, seen from above; the front wall is below</figcaption></figure>
<ol>
{listed}
</ol>"""


def _ahead_of_tiles(tiling: Tiling) -> str:
    return (
        f"{len(tiling.tiles)} tiles lie on the floor and raise it by {length(tiling.thickness)} mm: doors are as much"
        " lower from there. Tiles that are alike share a name, which is engraved on their lower face."
    )


def _ahead_of_inlay(tiling: Tiling) -> str:
    tops = plural(len(tiling.tops), "top layer")
    pieces = len(tiling.tiles) - len(tiling.tops)
    return (
        f"{tops.capitalize()} of light board (FT) {'lies' if len(tiling.tops) == 1 else 'lie'} on the floor, and"
        f" {pieces} pieces are let into its openings. The floor is {length(tiling.thickness)} mm higher by that: doors"
        " are as much lower from there. Pieces that are alike, also turned by a quarter, share a name, which is"
        " engraved on their lower face."
    )


def _inlay_steps(tiling: Tiling) -> list[str]:
    """Return how an inlay is put together, with what the kerf does to its joints."""
    play = 0.0 if tiling.boards is None else tiling.boards.gap
    kinds = Counter(tile.dark for tile in tiling.tiles if not tile.is_top)
    light = f" and {kinds[False]} light" if kinds[False] else ""
    return [
        "Put the walls up on the bare floor and try the top layer between them: it lies"
        f" {length(OFF_WALLS)} mm off the walls. Where you cut the floor again for measured walls, top layer and"
        f" pieces come with it. {_NAMED_AGAIN}",
        f"Sort {kinds[True]} dark{light} pieces by the names on their backs{_spare_words(tiling)}. Try one of every"
        " name dry in its opening, from above, name down: it goes in like a cork, with the thumb.",
        f"Joints are {length(play, 2)} mm wide. Where your kerf is {length(_KERF_RANGE, 2)} mm wider than set, they"
        f" are {length(play + _KERF_RANGE, 2)} mm wide; where it is {length(play, 2)} mm finer, they are shut. If a"
        " piece does not go in, measure the kerf and cut the pieces again, or give them more play.",
        "Stain or paint pieces and top layer now if you want to, apart by board. Leave edges and backs bare.",
        "Glue the top layer on the floor between the slots, under film and weights. Then glue the pieces in: a thin"
        " film of wood glue below, a large star from its disc outward, the others as they come. Wipe, cover with film,"
        " and weigh it down overnight.",
        "Where a piece stands out or lies low, sand it level, or put card below it before you glue.",
    ]


def _spare_words(tiling: Tiling) -> str:
    spare = [f"{count} × {text(called)}" for called, count in tiling.spare.items()]
    return f"; spare ones are {joined(spare)}" if spare else ""


def _rows(outcome: Outcome) -> list[tuple[str, ...]]:
    tiling = outcome.tiling
    count = Counter(tile.name for tile in tiling.tiles)
    rows: list[tuple[str, ...]] = []
    for called in sorted(count, key=lambda called: (_ORDER.index(called[:2]), int(called[2:]))):
        part = next(part for part in tiling.parts if part.shared_name == called)
        size = f"{length(part.size[0], 2)} × {length(part.size[1], 2)}"
        board = name(outcome.settings.stocks[part.stock].label)
        rows.append((text(called), board, size, str(count[called]), str(tiling.spare.get(called, 0))))
    return rows


def _plan(outcome: Outcome) -> str:
    """Return the floor with its tiles from above as an ``<svg>`` element."""
    floors = [_on_plan(part) for part in outcome.parts if part.kind is PartKind.FLOOR]
    pieces = [
        LaidPiece(
            "" if tile.is_top else tile.name,
            tile.outline,
            FILLS[PartKind.DARK_TILE if tile.dark else PartKind.TILE],
            tile.dark,
        )
        for tile in outcome.tiling.tiles
    ]
    return laying_plan(floors, FILLS[PartKind.FLOOR], pieces, label="Laying plan of the floor")


def _on_plan(part: Part) -> shapely.Geometry:
    return shapely.transform(part.outline, lambda xy: part.panels[0].stands.apply(xy)[:, :2])


def _steps(tiling: Tiling) -> list[str]:
    kinds = Counter(tile.dark for tile in tiling.tiles)
    play = 0.0 if tiling.boards is None else tiling.boards.gap
    steps = [
        f"Sort {kinds[False]} light and {kinds[True]} dark tiles by the names on their backs"
        f"{_spare_words(tiling)}. They were cut face down: that face is flawless.",
        "Stain or paint them now if you want to, apart by board. Leave edges and backs bare, for the glue.",
        f"Lay one row and one column dry, from the middle to the walls. There is {length(play, 2)} mm of play between"
        f" two tiles. A row goes in if its tiles come out up to {length(tiling.slack, 2)} mm larger than drawn;"
        " beyond that the kerf of your board is less than set: measure it and cut again. Where you cut the floor again"
        f" for measured walls, the tiles that change come with it. {_NAMED_AGAIN}",
        "Glue with thin wood glue on the floor, from the middle outward, a few tiles at a time. Keep glue and tiles"
        " off the slots. Lay film and weights on it overnight.",
    ]
    if tiling.open_area > _WORTH_SAYING:
        steps.append(
            f"{length(tiling.open_area / 100.0, 1)} cm² beside walls stay open, since pieces there would be too"
            " narrow: stain the floor there first."
        )
    return steps
