"""What outlives a building: offcuts on the shelf, and the times that sheets took."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..geometry.beam.laser import Laser, Operation
from ..geometry.beam.time_log import Learned, TimeNote, learn_feeds, notes_for, read_times, write_times
from ..geometry.errors import BadSettingError
from ..geometry.sheet.offcut_list import OffcutList, read_offcuts, write_offcuts
from . import stock_library
from .laser_library import laser_in
from .own_list import OwnList

if TYPE_CHECKING:
    import bpy

    from ..geometry.sheet.layout import Sheet

__all__ = [
    "OFFCUTS",
    "TIMES",
    "Row",
    "compare",
    "label_of",
    "noted_stocks",
    "offcuts_in",
    "put_into_scene",
    "told_by",
    "work_out",
]

OFFCUTS: OwnList[OffcutList] = OwnList(
    "offcuts.toml", read_offcuts, write_offcuts, OffcutList(), formerly="leftovers.toml"
)

TIMES: OwnList[tuple[TimeNote, ...]] = OwnList("times.toml", read_times, write_times, ())


def label_of(stock: str) -> str:
    """Return what a stock is called; its name where it is not known any more."""
    entry = stock_library.entries().get(stock)
    return entry.base.label if entry is not None else stock


def offcuts_in(scene: bpy.types.Scene) -> dict[str, tuple[tuple[float, float], ...]]:
    """Return (length, width) mm of the pieces that layouts of this scene may use, by stock.

    Raises BadSettingError where they are wanted and the list cannot be read: whole sheets would be cut instead.
    """
    ours = scene.stowfold
    if not ours.use_offcuts:
        return {}
    if OFFCUTS.error is not None:
        raise BadSettingError(f"{OFFCUTS.error} Mend it, or switch off Use Offcuts.")
    return OFFCUTS.value.sizes({getattr(ours.stocks, kind) for kind in ("walls", "roof", "floor", "joiners")})


# Times


def noted_stocks(laser: Laser) -> dict[str, int]:
    """Return how many notes count for each stock on this laser."""
    counts = {note.stock: 0 for note in TIMES.value if note.laser == laser.name}
    counts = {stock: len(notes_for(TIMES.value, laser, stock)) for stock in counts}
    return {stock: count for stock, count in counts.items() if count}


def work_out(scene: bpy.types.Scene, stock: str) -> Learned:
    """Return the speeds that the notes of the scene's laser and this stock make likely.

    Raises BadSettingError, in one sentence, where there are none or they contradict one another.
    """
    return learn_feeds(TIMES.value, laser_in(scene), stock)


@dataclass(frozen=True, slots=True)
class Row:
    """One value of the laser, what it is now, after the notes, and its standard error."""

    label: str
    now: float
    after: float
    spread: float
    unit: str = "mm/s"


#: Fields of the scene's laser, what they are called, and the operation whose speed they hold.
_FIELDS = (
    ("cut_speed", "Cutting", Operation.OUTER),
    ("slit_speed", "Slits", Operation.SLITS),
    ("score_speed", "Scoring", Operation.SCORE),
    ("engrave_speed", "Engraving", Operation.ENGRAVE),
    ("fill_speed", "Hatching", Operation.FILL),
)


def compare(scene: bpy.types.Scene, learned: Learned) -> tuple[Row, ...]:
    """Return every value that notes tell something of, before and after."""
    before, after, rows = laser_in(scene), learned.laser, []
    spread = dict(learned.fit.spread)
    if Operation.OUTER not in spread and Operation.INNER in spread:
        spread[Operation.OUTER] = spread[Operation.INNER]
    for _, label, operation in _FIELDS:
        if operation in spread:
            rows.append(Row(label, before.feeds[operation].speed, after.feeds[operation].speed, spread[operation][0]))
    through = next((operation for operation in (Operation.OUTER, Operation.SLITS) if operation in spread), None)
    if through is not None:
        rows.append(Row("Pierce", before.feeds[through].pierce, after.feeds[through].pierce, spread[through][1], "s"))
    return tuple(rows)


def put_into_scene(scene: bpy.types.Scene, learned: Learned, stock: str) -> None:
    """Take the speeds into the scene's laser, and remember where they come from."""
    ours, feeds = scene.stowfold.laser, learned.laser.feeds
    for name, _, operation in _FIELDS:
        setattr(ours, name, feeds[operation].speed)
    through = Operation.OUTER if Operation.OUTER in learned.fit.spread else Operation.SLITS
    ours.pierce = feeds[through].pierce
    ours.notes, ours.noted_stock = len(learned.notes), stock  # after the speeds, whose change forgets it


def told_by(scene: bpy.types.Scene, sheets: Sequence[Sheet]) -> str:
    """Return how many notes the estimate of these sheets rests on, in words; nothing where it rests on none.

    Sheets that were estimated with other speeds than the scene has now rest on none.
    """
    ours = scene.stowfold.laser
    if not ours.notes:
        return ""
    laser = laser_in(scene)
    mine = [
        (sheet.laser.name, sheet.laser.feeds, sheet.stock.name) == (laser.name, laser.feeds, ours.noted_stock)
        for sheet in sheets
    ]
    if not any(mine):
        return ""
    return f" ({'' if all(mine) else 'partly '}from {ours.notes} note{'s' if ours.notes > 1 else ''})"
