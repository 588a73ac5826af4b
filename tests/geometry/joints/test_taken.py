"""Room for what is glued beside standing boards: what is placed crosses none of them, judged by manifold3d."""

from __future__ import annotations

from dataclasses import replace

from boards_as_solids import board_solids, shared_volumes
from parts_by_hand import make_part, make_stock
from shapely.geometry import Polygon, box
from stowfold.geometry.joints.taken import Taken
from stowfold.geometry.part import Part, plain_panel
from stowfold.geometry.pose import Pose
from stowfold.geometry.settings import BuildSettings

BIRCH = make_stock()
SETTINGS = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)


def _lying(name: str, outline: Polygon) -> Part:
    """A board of 3 mm that lies in the plane z = 0."""
    return replace(make_part(name, outline), panels=(plain_panel(outline, Pose.identity()),))


def test_what_shrinks_to_find_hold_is_tried_at_its_own_size_too() -> None:
    """A plate of 30 mm that is tried as one of 10 mm with air: at its aim the small one passes, the large one not."""
    post = _lying("W1", box(60, -5, 64, 5))

    def plate(at: float, air: float) -> tuple[Part, ...]:
        half = 5.0 if air else 15.0
        return (_lying("L1", box(at - half, -4, at + half, 4)),)

    taken = Taken([post], SETTINGS)
    aim = 50.0
    assert taken.is_free(plate(aim, 2.0)) and not taken.is_free(plate(aim, 0.0))
    placed = taken.nearest(100.0, aim, plate)
    assert placed and not shared_volumes(board_solids([post, *placed]))
    # steps of 3 mm: 44 is the first from where 15 mm reach no farther than 60
    assert placed[0].outline.bounds[0] + 15.0 == 44.0
    again = taken.nearest(100.0, aim, plate)
    assert not shared_volumes(board_solids([post, *placed, *(replace(part, id="L2") for part in again)]))


def test_a_copy_takes_room_of_its_own() -> None:
    taken = Taken([], SETTINGS)
    other = taken.copy()
    other.take([_lying("L1", box(0, 0, 10, 10))])
    assert taken.is_free([_lying("L2", box(5, 5, 15, 15))])
    assert not other.is_free([_lying("L2", box(5, 5, 15, 15))])
