"""The building in three dimensions on a page: a view that is turned by a finger, folded and taken apart by sliders.

The view is drawn by ``turn.js``, which stands in the page as it is; what it draws stands beside it as JSON. Without
scripts the page shows the drawing of the standing building instead, and paper shows that one too.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from ..assembly.plan import Stage
from ..joints.round_joiner import is_round_cheek
from ..paint.paint import OF_BOARD
from ..part import TILES, Part, PartKind, PlacedLattice
from ..pose import Pose
from ..sheet.fills import CHAR, STANDING_FILLS, mixed, rgb
from ..show.bending import undone
from ..show.boards import Boards, standing_points
from ..show.coats import COATED, Coat, coat_of_strip, coated_marks, coats_of, pieces_in, triangles_in
from ..show.film import Film, film_of, points_to_see
from ..show.plates import Plate, flat_triangles, plates_of
from ..show.script import BOXED
from ..show.strips import strip_of
from ..show.track import FLAT, STACKED, STANDING
from .markup import text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["anchor_of", "turning_view", "view_data"]

#: The view itself, which needs nothing but its data.
_SCRIPT = Path(__file__).with_name("turn.js")

#: Points of outlines are written in hundredths of a millimetre, finer than any screen shows.
_UNIT = 100

#: Fold times between which the eye moves evenly, so that all that moves is seen.
_FRAMES = np.linspace(FLAT, STACKED, 41).round(2).tolist()

#: What is said while hands put the building up; a roof is bent by itself.
_SAID = {
    Stage.FOLD: "The corners bend",
    Stage.RING: "The joiners slide on",
    Stage.FLOOR: "The walls go down onto the floor",
    Stage.CLOSE: "The roof is closed, its inside up",
    Stage.ROOF: "The roof is set on",
    Stage.UPSTAND: "What stands on the roof comes last",
    Stage.SIGN: "Signboards go into their slots",
}

#: How long before and after a fold time the words for it are shown.
_MOMENT = 0.01

#: How far parts are drawn apart, shares of the building's size: up for what lies above, level for walls.
_ABOVE = {
    PartKind.CAP: 0.75,
    PartKind.ROOF: 0.6,
    PartKind.UPSTAND: 0.95,
    **dict.fromkeys((PartKind.STOP, PartKind.LAP, PartKind.CARRIER), 0.35),
}
_BELOW, _ON_FLOOR, _LEVEL, _JOINER = 0.22, 0.14, 0.3, 0.45

#: How much of the laser's char edges show on white paper, and how much darker than its board an engraved line is.
_CHARRED, _MARKED = 0.38, 0.7

_HINT = "Drag to turn, pinch or press + and - to come nearer, tap a part for its name."
_LEAF_HINT = "Tap a door or shutter to open or shut it."


def anchor_of(part: str) -> str:
    """Return the place of a part's picture in the page."""
    return f"part-{part}"


def turning_view(outcome: Outcome) -> str:
    """Return the view as markup, nothing where no part has a board."""
    film = film_of(outcome)
    if not film.boards:
        return ""
    script = _SCRIPT.read_text(encoding="utf-8")
    chips = " ".join(
        f'<a href="#{text(anchor_of(name))}" data-part="{k}" title="{text(boards.part.label)}">{text(name)}</a>'
        for k, (name, boards) in enumerate(film.boards.items())
        if boards.part.kind not in TILES and name not in outcome.strips.bearers
    )
    return (
        '<figure id="turn">\n<canvas tabindex="0" aria-label="The building in three dimensions"></canvas>\n'
        '<div class="hands"><label>Fold <input id="turn-fold" type="range" min="0" max="2" step="0.005" value="1"/>'
        '</label> <button id="turn-play" type="button">Play</button> <label>Apart <input id="turn-apart" type="range"'
        ' min="0" max="1" step="0.01" value="0"/></label>'
        ' <label id="turn-painted" hidden="hidden"><input id="turn-colours" type="checkbox" checked="checked"/> Colours'
        "</label></div>\n"
        f"{_leaf_buttons(leaves_of(film))}"
        f'<p class="hands"><b id="turn-moment"></b> <span id="turn-said"></span></p>\n<p class="parts">{chips}</p>\n'
        f'<script type="application/json" id="turn-boards">{_safe(view_data(outcome, film))}</script>\n'
        f"<script>\n//<![CDATA[\n{script}//]]>\n</script>\n</figure>"
    )


def leaves_of(film: Film) -> tuple[tuple[Part, int], ...]:
    """Return the leaves that the view numbers, doors and shutters: the part of each and which of its lattices."""
    parts = [boards.part for boards in film.boards.values()]
    return tuple((part, k) for part in parts for k, placed in enumerate(part.lattices) if placed.swing)


def _leaf_buttons(leaves: Sequence[tuple[Part, int]]) -> str:
    """Return a button for every leaf, and one for all where there are several; nothing without leaves."""
    if not leaves:
        return ""
    words = _leaf_words(leaves)
    all_of_them = '<button type="button" data-leaf="all" aria-pressed="false">All</button> ' if len(leaves) > 1 else ""
    single = " ".join(
        f'<button type="button" data-leaf="{k}" aria-pressed="false" title="Opens by'
        f' {math.degrees(abs(part.lattices[number].swing)):.0f}°">{text(words[k])}</button>'
        for k, (part, number) in enumerate(leaves)
    )
    heading = "Open doors and shutters" if len(leaves) > 1 else "Open the door or shutter"
    return f'<div class="hands" id="turn-leaves">{heading} {all_of_them}{single}</div>\n'


def _leaf_words(leaves: Sequence[tuple[Part, int]]) -> list[str]:
    """Return what to call every leaf: its part, with a number where that has several."""
    names = [part.id for part, _ in leaves]
    return [name if names.count(name) == 1 else f"{name}, {names[:k].count(name) + 1}" for k, name in enumerate(names)]


def _safe(data: Mapping[str, Any]) -> str:
    """Return JSON that neither a reader of HTML nor one of XML takes for markup."""
    written = json.dumps(data, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return written.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def view_data(outcome: Outcome, film: Film) -> dict[str, Any]:
    """Return all that the view draws, as plain values."""
    index = {name: k for k, name in enumerate(film.boards)}
    apart = _apart(film)
    apart |= {name: apart[host] for name, (host, _) in outcome.strips.bearers.items()}
    kinds = {boards.part.kind: None for boards in film.boards.values()}
    coats = _coats(film)
    leaves = leaves_of(film)
    numbers = {(part.id, lattice): number for number, (part, lattice) in enumerate(leaves)}
    holds = {prop.part.id: numbers[prop.wall, prop.leaf] for prop in outcome.props}
    bare = film.paint.bare if coats else ""
    sheets = {placement.part: outcome.layout.sheets[placement.sheet].file for placement in outcome.layout.placements}
    return {
        "unit": _UNIT,
        "hint": f"{_HINT} {_LEAF_HINT}" if leaves else _HINT,
        "kinds": {kind.value: _looks(kind) for kind in kinds},
        "painted": {kind.value: _looks(kind, bare if kind in OF_BOARD else "") for kind in kinds},
        "coats": [{"face": film.paint.colour_of(*coat), "line": film.paint.line_on(*coat)} for coat in coats],
        "parts": [
            _part(boards, film, index, coats)
            | {"strips": list(_strips(boards.part, coats, numbers)), "held": _held(boards, holds)}
            | {"sheet": sheets.get(name, ""), "apart": _numbers(apart[name], 1)}
            for name, boards in film.boards.items()
        ],
        "sheets": [_numbers(sheet.ravel(), 1) for sheet in film.sheets],
        "box": _numbers(film.box.ravel(), 1),
        "frames": [[time, *_numbers(_box(_to_see(film, time)), 1)] for time in _FRAMES],
        "apart": _numbers(_apart_box(film, apart), 1),
        "steps": list(_steps(film)),
    }


def _part(boards: Boards, film: Film, index: Mapping[str, int], coats: Sequence[Coat]) -> dict[str, Any]:
    part = boards.part
    low, high = sorted((0.0, part.board_side * part.thickness))
    root = undone(boards.stands)
    track = film.tracks[part.id]
    rider = film.riders.get(part.id)
    return {
        "id": part.id,
        "label": part.label,
        "kind": part.kind.value,
        "anchor": anchor_of(part.id),
        "low": round(low, 3),
        "high": round(high, 3),
        "thick": round(part.thickness, 3),
        "side": part.board_side,
        "root": boards.root,
        "panels": [_pose(root @ panel.stands) for panel in part.panels],
        "plates": [_plate(plate) for plate in plates_of(part)],
        "marks": _marks(part) if part.kind is PartKind.FLOOR else [],
        "coats": list(_coated(part, coats)),
        "pivot": _numbers(track.pivot, 2),
        "track": {
            "t": _numbers(track.times, 6),
            "q": [_numbers(turn, 5) for turn in track.turns],
            "p": [_numbers(place, 2) for place in track.places],
            "s": _numbers(track.shares, 4),
        },
        "ride": None
        if rider is None
        else {
            "host": index[rider.host],
            "panel": rider.panel,
            "pose": _pose(rider.pose),
            "from": round(film.glued[part.id], 6),
            "bends": is_round_cheek(part),
        },
    }


def _held(boards: Boards, holds: Mapping[str, int]) -> dict[str, Any] | None:
    """Return which leaf a prop holds open and where it is then, None of other parts. holds: leaves by props."""
    if boards.part.id not in holds:
        return None
    return {"leaf": holds[boards.part.id], "pose": _pose(boards.stands)}


def _plate(plate: Plate) -> dict[str, Any]:
    rings, triangles = flat_triangles(plate)
    return {
        "panel": plate.panel,
        "rings": [len(ring) for ring in rings],
        "xy": np.rint(np.concatenate(rings) * _UNIT).astype(int).ravel().tolist(),
        "tri": triangles.ravel().tolist(),
    }


def _marks(part: Part) -> list[int]:
    """Return engraved lines as pieces x, y, x, y in hundredths of a millimetre."""
    ends = [np.stack([line[:-1], line[1:]], axis=1) for line in map(np.asarray, part.engrave)]
    return np.rint(np.concatenate(ends) * _UNIT).astype(int).ravel().tolist() if ends else []


def _span_of(part: Part, placed: PlacedLattice) -> list[float]:
    """Return over which share of a part's fold a lattice bends; see ``bend_shares``."""
    if not any(other.late for other in part.lattices):
        return [0.0, 1.0]
    return [0.5, 1.0] if placed.late else [0.0, 0.5]


def _coats(film: Film) -> list[Coat]:
    """Return all coats of a building that have a colour, each once."""
    every = dict.fromkeys(coat for boards in film.boards.values() for coat in coats_of(boards.part))
    return [coat for coat in every if film.paint.colour_of(*coat)]


def _coated(part: Part, coats: Sequence[Coat]) -> Iterator[dict[str, Any]]:
    """Yield the coats of a part's plates as triangles, with the lines of finishes on them, hundredths of a mm."""
    own = coats_of(part)
    ends = np.concatenate([np.zeros((0, 2, 2)), *(dressing.segments for dressing in part.dressings)])
    numbers = coated_marks(part, ends.mean(axis=1)) if len(ends) else np.zeros(0, dtype=int)
    for plate in plates_of(part):
        shapely.prepare(plate.shape)
        here = shapely.contains_xy(plate.shape, ends.mean(axis=1))
        for field in part.colour_fields:
            coat = (field.finish, field.role)
            areas = pieces_in(field, plate) if coat in coats else []
            if areas:
                lines = ends[here & (numbers == COATED + 2 * own.index(coat) + 1)] if field.up else ends[:0]
                yield {
                    "panel": plate.panel,
                    "coat": coats.index(coat),
                    "up": field.up,
                    "xy": np.rint(triangles_in(areas) * _UNIT).astype(int).ravel().tolist(),
                    "lines": np.rint(lines * _UNIT).astype(int).ravel().tolist(),
                }


def _strips(part: Part, coats: Sequence[Coat], leaves: Mapping[tuple[str, int], int]) -> Iterator[dict[str, Any]]:
    """Yield the lattices of a part, those that hang from another one after it. leaves: numbers of those that swing."""
    order = {id(placed): k for k, placed in enumerate(part.lattices)}
    reached, waiting = {0}, list(part.lattices)
    while ready := [placed for placed in waiting if placed.parent in reached]:
        for placed in ready:
            strip = strip_of(placed)
            worn = [(up, coat_of_strip(part, placed, up=up)) for up in (True, False)]
            reached.add(placed.child)
            yield {
                "parent": placed.parent,
                "child": placed.child,
                "o": _numbers(placed.origin, 4),
                "c": _numbers(placed.across, 6),
                "a": _numbers(placed.along, 6),
                "angle": round(placed.angle, 6),
                "leaf": leaves.get((part.id, order[id(placed)]), -1),
                "swing": round(placed.swing, 6),
                "span": _span_of(part, placed),
                "wide": round(placed.lattice.flat_width, 4),
                "x": _numbers(strip.across, 3),
                "y": _numbers(strip.along, 3),
                "coats": [[up, coats.index(coat)] for up, coat in worn if coat in coats],
                "board": "".join(strip.board.astype(int).astype(str).ravel()),
            }
        waiting = [placed for placed in waiting if placed.child not in reached]


def _pose(pose: Pose) -> list[float]:
    """Return a pose as twelve numbers, column by column."""
    return [round(value, 6) for value in pose.matrix.T.ravel().tolist()]


def _numbers(values: Sequence[float] | np.ndarray, decimals: int) -> list[float]:
    return [round(float(value), decimals) + 0.0 for value in values]


def _looks(kind: PartKind, bare: str = "") -> dict[str, str]:
    """Return the colours of a kind of part: its faces, its edges that the laser charred, lines engraved on it.

    bare: the colour of the board, the usual one of the kind where it is empty.
    """
    face = rgb(bare or STANDING_FILLS[kind])
    return {
        "face": _hex(face),
        "edge": _hex(mixed(face, CHAR, _CHARRED)),
        "mark": _hex(mixed(face, (0.0, 0.0, 0.0), 1.0 - _MARKED)),
    }


def _hex(colour: Sequence[float]) -> str:
    return "#" + "".join(f"{round(255 * part):02x}" for part in colour)


def _box(points: np.ndarray) -> np.ndarray:
    """Return the lowest and the highest corner of the box round points, (6,) mm."""
    return np.concatenate([points.min(axis=0), points.max(axis=0)])


def _to_see(film: Film, time: float) -> np.ndarray:
    """Return the points that the view must show at a fold time, (n, 3) mm; those of open leaves while it stands."""
    found = points_to_see(film, time)
    if time != STANDING:
        return found
    hung = [film.boards[name] for name in dict.fromkeys(part.id for part, _ in leaves_of(film))]
    return np.concatenate([found, *(boards.stands.apply(boards.points(opened=1.0)) for boards in hung)])


def _steps(film: Film) -> Iterator[tuple[float, str]]:
    """Yield what is said from a fold time on, where that is something else than before."""
    said = "Flat on the sheets"
    yield 0.0, said
    if film.acts and film.acts[0].time > _MOMENT:
        yield _MOMENT, "Parts leave their sheets"
    for act in film.acts:
        words = "The roof is bent" if (act.stage, act.of) == (Stage.FOLD, PartKind.ROOF) else _SAID[act.stage]
        if words != said:
            said = words
            yield round(act.time, 4), words
    yield STANDING - _MOMENT, "As it will stand"
    yield STANDING + _MOMENT, "Taken down, the other way round"
    yield BOXED, "Into the box, layer by layer"
    yield STACKED - _MOMENT, "In the box"


def _apart_box(film: Film, apart: Mapping[str, np.ndarray]) -> np.ndarray:
    """Return the box round all parts when the building is drawn apart, (6,) mm."""
    return _box(np.concatenate([standing_points([boards]) + apart[name] for name, boards in film.boards.items()]))


def _apart(film: Film) -> dict[str, np.ndarray]:
    """Return how far every part is drawn from its place, (3,) mm, when the building is taken apart."""
    standing = {name: boards for name, boards in film.boards.items() if boards.part.kind is not PartKind.PROP}
    middles = {name: boards.stands.apply(boards.points()).mean(axis=0) for name, boards in standing.items()}
    every = np.array(list(middles.values()))
    middle, size = (every.min(axis=0) + every.max(axis=0)) / 2, float(np.ptp(every, axis=0).max(initial=1.0))
    found = dict.fromkeys(film.boards, np.zeros(3))
    for name, boards in standing.items():
        kind = boards.part.kind
        if kind in _ABOVE:
            found[name] = np.array([0.0, 0.0, _ABOVE[kind] * size])
        elif kind is PartKind.FLOOR or kind in TILES:
            found[name] = np.array([0.0, 0.0, (-_BELOW if kind is PartKind.FLOOR else -_ON_FLOOR) * size])
        else:
            away = (middles[name] - middle) * (1.0, 1.0, 0.0)
            far = _JOINER if kind in (PartKind.CORE, PartKind.CHEEK) else _LEVEL
            found[name] = away / max(float(np.linalg.norm(away)), 1.0) * far * size
    return found
