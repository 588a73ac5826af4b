"""Flat pictures: every part with its slits and its id, every sheet, and a joiner cut across.

They are for recognising, not for measuring: the cut files are the true size.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from ..part import Joiner, Part, Way
from ..sheet.layout import Layout, Placement
from .markup import length, text

__all__ = ["draw_joiner", "draw_part", "draw_sheet", "numbered_parts", "picture_scale"]

#: Widest and highest picture that still leaves room on a printed page (A4 with its margins), mm.
_PAGE = (176.0, 200.0)

#: Height of ids on paper, mm.
_LETTER = 3.4

#: Letters lower than this are not read without a lens, mm (common practice, no source).
_SMALLEST = 1.5

#: Ids are made smaller by this step until they fit, so often at most.
_SMALLER, _TRIES = 0.88, 40


def picture_scale(sizes: list[tuple[float, float]], *, share: float = 1.0) -> float:
    """Return the one scale, at most 1, at which all pictures of these sizes (mm) fit a share of the page's width."""
    wide, tall = share * _PAGE[0], share * _PAGE[1]
    return min([1.0, *(min(wide / (width + 2), tall / (height + 2)) for width, height in sizes)])


def draw_part(part: Part, *, scale: float) -> str:
    """Return one part as an ``<svg>`` element: outline, holes, slits, engraving, name."""
    x0, y0, x1, y1 = part.outline.bounds
    body = [f'<path class="board" d="{_outline(part.outline)}"/>']
    if part.engrave:
        body.append(f'<path class="engrave" d="{"".join(_line(line) for line in part.engrave)}"/>')
    if part.score:
        body.append(f'<path class="score" d="{"".join(_line(line) for line in part.score)}"/>')
    for way in Way:
        drawn = [line for dressing in part.dressings if dressing.way is way for line in dressing.lines]
        if drawn:
            style = "score" if way is Way.SCORE else "engrave"
            body.append(f'<path class="{style} finish" d="{"".join(map(_line, drawn))}"/>')
    slits = ["".join(_line(line) for line in placed.slit_lines) for placed in part.lattices]
    body += [f'<path class="slits" d="{lines}"/>' for lines in slits]
    if _id_place(part, part.name, _LETTER / scale)[1] * scale >= _SMALLEST:
        body.append(_id_text(part, part.name, _LETTER / scale, 0.0, np.zeros(2)))
    return _svg((x0 - 1, y0 - 1, x1 + 1, y1 + 1), scale, body, f"Part {part.name}: {part.label}")


def numbered_parts(layout: Layout, index: int, parts: tuple[Part, ...], *, share: float = 1.0) -> dict[str, str]:
    """Return id and number, as it stands in the picture, of the parts of a sheet that are too small for their names.

    Parts of one name have one number.
    """
    scale = share * picture_scale([layout.sheets[index].size])
    here = {placement.part for placement in layout.placements if placement.sheet == index}
    small = [
        part for part in parts if part.id in here and _id_place(part, part.name, _LETTER / scale)[1] * scale < _SMALLEST
    ]
    number = {called: str(k) for k, called in enumerate(dict.fromkeys(part.name for part in small), start=1)}
    return {part.id: number[part.name] for part in small}


def draw_sheet(layout: Layout, index: int, parts: tuple[Part, ...], *, share: float = 1.0) -> str:
    """Return one sheet with its parts and their names as an ``<svg>`` element, as it lies on the laser.

    Parts too small for their names bear the numbers of ``numbered_parts``. share: of the page's
    width that the picture may take.
    """
    numbers = numbered_parts(layout, index, parts, share=share)
    by_id = {part.id: part for part in parts}
    sheet = layout.sheets[index]
    width, height = sheet.size
    scale = share * picture_scale([(width, height)])
    body = [f'<rect class="sheet" x="0" y="{-height:.2f}" width="{width:.2f}" height="{height:.2f}"/>']
    for placement in layout.placements:
        part = by_id.get(placement.part)
        if placement.sheet != index or part is None:
            continue
        placed = shapely.transform(part.outline, placement.place)
        body.append(f'<path class="board" d="{_outline(placed)}"/>')
        for lattice in part.lattices:
            body.append(f'<path class="zone" d="{_line(placement.place(lattice.zone), closed=True)}"/>')
        if part.id in numbers:
            body.append(_number_text(part, numbers[part.id], _SMALLEST / scale, placement))
        else:
            body.append(_id_text(part, part.name, _LETTER / scale, placement.turn, placement.shift))
    return _svg((-1, -1, width + 1, height + 1), scale, body, f"Sheet {sheet.file}")


def draw_joiner(joiner: Joiner, core: float, cheek: float, board: float) -> str:
    """Return a joiner cut across, seen from above, as an ``<svg>`` element 1.75 times its size.

    core, cheek, board: thickness of core, cheeks and wall, mm.
    """
    half, wide, deep = joiner.core_width / 2, joiner.cheek_width / 2, core + joiner.shim
    reach = wide + 16
    body = [
        _box(-wide, deep, wide, deep + cheek, "cheek"),
        _box(-wide, -cheek, wide, 0, "cheek"),
        _box(-half, joiner.shim / 2, half, joiner.shim / 2 + core, "core"),
    ]
    if joiner.shim > 0.02:
        body += [_box(-half, 0, half, joiner.shim / 2, "card"), _box(-half, deep - joiner.shim / 2, half, deep, "card")]
    slack = (deep - board) / 2
    for side in (-1, 1):
        near, far = side * (half + joiner.gap), side * reach
        body.append(_box(min(near, far), slack, max(near, far), slack + board, "board"))
    for words, x, y in (
        ("outside", 0.0, deep + cheek + 1.6),
        ("inside, toward the room", 0.0, -cheek - 3.4),
        ("outer cheek", 0.0, deep + cheek / 2 - 0.7),
        ("core", 0.0, deep / 2 - 0.7),
        ("inner cheek", 0.0, -cheek / 2 - 0.7),
        ("wall", -reach + 6, deep / 2 - 0.7),
        ("wall", reach - 6, deep / 2 - 0.7),
    ):
        body.append(f'<text x="{x:.2f}" y="{-y:.2f}" font-size="2.1">{words}</text>')
    return _svg((-reach, -cheek - 5, reach, deep + cheek + 5), 1.75, body, f"Joiner {joiner.id} cut across")


def _svg(bounds: tuple[float, float, float, float], scale: float, body: list[str], title: str) -> str:
    x0, y0, x1, y1 = bounds
    width, height = x1 - x0, y1 - y0
    return (
        f'<svg role="img" viewBox="{x0:.2f} {-y1:.2f} {width:.2f} {height:.2f}"'
        f' style="width:{width * scale:.1f}mm;aspect-ratio:{width:.2f}/{height:.2f}">'
        f"<title>{text(title)}</title>{''.join(body)}</svg>"
    )


def _line(points: np.ndarray, *, closed: bool = False) -> str:
    # The page has y down.
    return "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in np.asarray(points)) + ("Z" if closed else "")


def _outline(polygon: Polygon) -> str:
    rings = (polygon.exterior, *polygon.interiors)
    return "".join(_line(np.asarray(ring.coords)[:-1], closed=True) for ring in rings)


def _id_text(part: Part, words: str, size: float, turn: float, shift: np.ndarray) -> str:
    """Set words into the widest solid place of the part; along it where they get larger that way."""
    (x, y), size, upright = _id_place(part, words, size)
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = cos * x - sin * y + shift[0], sin * x + cos * y + shift[1]
    # Read from below or from the right, never upside down.
    angle = (math.degrees(turn + upright) + 90.0) % 180.0 - 90.0
    angle = 90.0 if abs(angle + 90.0) < 1e-6 else angle
    turned = f' transform="rotate({-angle:.1f} {x:.2f} {-y:.2f})"' if abs(angle) > 1e-6 else ""
    return f'<text class="id" x="{x:.2f}" y="{-y:.2f}" dy="0.35em" font-size="{size:.2f}"{turned}>{text(words)}</text>'


def _number_text(part: Part, words: str, size: float, placement: Placement) -> str:
    """Set a number into the middle of a small part, over its edges where it must, upright on the sheet."""
    x, y = placement.place(np.array([Polygon(part.outline.exterior).centroid.coords[0]]))[0]
    return f'<text class="id" x="{x:.2f}" y="{-y:.2f}" dy="0.35em" font-size="{size:.2f}">{text(words)}</text>'


def _id_place(part: Part, words: str, size: float) -> tuple[tuple[float, float], float, float]:
    """Return where words stand on a part, how large, at most ``size``, and at which angle: level or upright."""
    solid = part.outline
    if part.lattices:
        solid = solid.difference(shapely.union_all([Polygon(placed.zone) for placed in part.lattices]))
    if isinstance(solid, MultiPolygon):
        solid = max(solid.geoms, key=lambda piece: piece.area)
    if solid.is_empty:
        solid = part.outline
    # The centroid looks right wherever it has as much room round it as the roomiest place.
    circle: LineString = shapely.maximum_inscribed_circle(solid, tolerance=1.0)
    middle = solid.centroid
    roomy = solid.contains(middle) and solid.boundary.distance(middle) > 0.8 * circle.length
    x, y = middle.coords[0] if roomy else circle.coords[0]
    size, upright = max(
        ((_largest(solid, (x, y), words, size, upright), upright) for upright in (0.0, math.pi / 2)),
        key=lambda fit: (fit[0], -fit[1]),
    )
    return (x, y), size, upright


def _largest(solid: Polygon, centre: tuple[float, float], words: str, size: float, upright: float) -> float:
    """Return how large words about ``centre`` may be, at most ``size``, without touching an edge."""
    # A letter of this face is about 0.6 of its height wide.
    half = (0.31 * max(1, len(words)) + 0.1, 0.45)
    across, high = half if upright == 0.0 else half[::-1]
    x, y = centre
    for _ in range(_TRIES):
        if solid.contains(shapely.box(x - across * size, y - high * size, x + across * size, y + high * size)):
            return size
        size *= _SMALLER
    return size


def _box(x0: float, y0: float, x1: float, y1: float, kind: str) -> str:
    return (
        f'<rect class="{kind}" x="{x0:.2f}" y="{-y1:.2f}" width="{length(x1 - x0, 3)}" height="{length(y1 - y0, 3)}"/>'
    )
