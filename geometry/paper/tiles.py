"""The floor of two boards in the guide: what is cut, the laying plan, and how tiles are laid and glued."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import shapely

from ..finish.tiles import PLAY, Tiling
from ..part import Part, PartKind
from ..sheet.fills import FILLS
from .laying_plan import LaidPiece, laying_plan
from .markup import joined, length, name, table, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["tiles_section"]

#: Square millimetres below which nothing is said of what stays open.
_WORTH_SAYING = 20.0


def tiles_section(outcome: Outcome) -> str:
    """Return the markup of the chapter on a floor of two boards; empty where there is none."""
    tiling = outcome.tiling
    if not tiling.tiles:
        return ""
    high = length(tiling.thickness)
    steps = "\n".join(f"<li>{step}</li>" for step in _steps(tiling))
    return f"""<p class="ahead">{len(tiling.tiles)} tiles lie on the floor and raise it by {high} mm: doors are as much
lower from there. Tiles that are alike share a name, which is engraved on their lower face.</p>
{table(("Tile", "Board", "Size, mm", "To lay", "Spare"), _rows(outcome), numbers=(3, 4))}
<figure>{_plan(outcome)}<figcaption>The laying plan, seen from above; the front wall is below</figcaption></figure>
<ol>
{steps}
</ol>"""


def _rows(outcome: Outcome) -> list[tuple[str, ...]]:
    tiling = outcome.tiling
    count = Counter(tile.name for tile in tiling.tiles)
    rows: list[tuple[str, ...]] = []
    for called in sorted(count, key=lambda each: (each[:2], int(each[2:]))):
        part = next(part for part in tiling.parts if part.shared_name == called)
        size = f"{length(part.size[0], 2)} × {length(part.size[1], 2)}"
        board = name(outcome.settings.stocks[part.stock].label)
        rows.append((text(called), board, size, str(count[called]), str(tiling.spare.get(called, 0))))
    return rows


def _plan(outcome: Outcome) -> str:
    """Return the floor with its tiles from above as an ``<svg>`` element."""
    floors = [_on_plan(part) for part in outcome.parts if part.kind is PartKind.FLOOR]
    pieces = [
        LaidPiece(tile.name, tile.outline, FILLS[PartKind.DARK_TILE if tile.dark else PartKind.TILE], tile.dark)
        for tile in outcome.tiling.tiles
    ]
    return laying_plan(floors, FILLS[PartKind.FLOOR], pieces, label="Laying plan of the floor")


def _on_plan(part: Part) -> shapely.Geometry:
    return shapely.transform(part.outline, lambda xy: part.panels[0].stands.apply(xy)[:, :2])


def _steps(tiling: Tiling) -> list[str]:
    kinds = Counter(tile.dark for tile in tiling.tiles)
    spare = [f"{count} × {text(called)}" for called, count in tiling.spare.items()]
    steps = [
        f"Sort {kinds[False]} light and {kinds[True]} dark tiles by the names on their backs"
        f"{f'; spare ones are {joined(spare)}' if spare else ''}. They were cut face down: that face is flawless.",
        "Stain or paint them now if you want to, apart by board. Leave edges and backs bare, for the glue.",
        f"Lay one row and one column dry, from the middle to the walls. There is {length(PLAY, 2)} mm of play between"
        f" two tiles. A row goes in if its tiles come out up to {length(tiling.slack, 2)} mm larger than drawn;"
        " beyond that the kerf of your board is less than set: measure it and cut again.",
        "Glue with thin wood glue on the floor, from the middle outward, a few tiles at a time. Keep glue and tiles"
        " off the slots. Lay film and weights on it overnight.",
    ]
    if tiling.open_area > _WORTH_SAYING:
        steps.append(
            f"{length(tiling.open_area / 100.0, 1)} cm² beside walls stay open, since pieces there would be too"
            " narrow: stain the floor there first."
        )
    return steps
