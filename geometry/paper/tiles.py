"""The floor of two boards in the guide: what is cut, the laying plan, and how tiles are laid and glued."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import shapely

from ..finish.tiles import PLAY, Tiling
from ..part import Part, PartKind
from ..sheet.fills import FILLS
from .markup import joined, length, name, table, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["tiles_section"]

#: Widest plan that a page takes, mm, and the largest letters on it, mm on paper.
_PAGE, _LETTER = 120.0, 3.0

#: Letters are this share of the smaller side of a tile, and so many times as high as a name is wide in letters.
_SHARE, _WIDE = 0.42, 0.62

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
    tiling = outcome.tiling
    floors = [_on_plan(part) for part in outcome.parts if part.kind is PartKind.FLOOR]
    x0, y0, x1, y1 = shapely.total_bounds([*floors, *(tile.outline for tile in tiling.tiles)]).tolist()
    scale = min(_PAGE / (x1 - x0), 1.0)
    body = [f'<path d="{_ring(floor)}" fill="{FILLS[PartKind.FLOOR]}" stroke="#3a3a38"/>' for floor in floors]
    for tile in tiling.tiles:
        fill = FILLS[PartKind.DARK_TILE if tile.dark else PartKind.TILE]
        body.append(f'<path d="{_ring(tile.outline)}" fill="{fill}" stroke="#3a3a38"/>')
    for tile in tiling.tiles:
        middle = tile.outline.representative_point()
        bx0, by0, bx1, by1 = tile.outline.bounds
        size = min(_SHARE * (by1 - by0), (bx1 - bx0) / (_WIDE * (len(tile.name) + 1)), _LETTER / scale)
        ink = "#ffffff" if tile.dark else "#1d1d1b"
        body.append(
            f'<text x="{middle.x:.2f}" y="{-middle.y + size / 3:.2f}" font-size="{size:.2f}" '
            f'style="fill:{ink}" stroke="none" text-anchor="middle">{text(tile.name)}</text>'
        )
    width, height = (x1 - x0) * scale, (y1 - y0) * scale
    return (
        f'<svg width="{width:.2f}mm" height="{height:.2f}mm" viewBox="{x0:.2f} {-y1:.2f} {x1 - x0:.2f} {y1 - y0:.2f}" '
        f'stroke-width="0.3" role="img" aria-label="Laying plan of the floor">{"".join(body)}</svg>'
    )


def _on_plan(part: Part) -> shapely.Geometry:
    return shapely.transform(part.outline, lambda xy: part.panels[0].stands.apply(xy)[:, :2])


def _ring(area: shapely.Geometry) -> str:
    """Return the path of all rings of an area, y down."""
    rings = [shapely.get_coordinates(ring)[:-1] * np.array([1.0, -1.0]) for ring in shapely.get_rings(area)]
    return "".join("M" + "L".join(f"{x:.2f},{y:.2f}" for x, y in ring) + "Z" for ring in rings)


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
