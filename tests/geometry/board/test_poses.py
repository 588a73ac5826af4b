"""A lattice at other angles, the pack of a loop, and the corner in which a base stands."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from shapely.geometry import LineString
from stowfold.geometry.board.lattice import Lattice, design_lattice, lattice
from stowfold.geometry.board.poses import folded_loop, links_for, pose, widest_corner
from stowfold.geometry.board.stock import Stock, find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError

STOCKS = read_stocks()
BASSWOOD = replace(find_stock("basswood-3.2", STOCKS), thickness=3.0, bridge=3.0, shear_limit=4.5)
ACRYLIC = replace(find_stock("cast-acrylic-3", STOCKS), bridge=3.0)
RIGHT_ANGLE = math.pi / 2

# The three hinges of test_lattice, worked out by hand.
A = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, link_width=1.2, opening=0.2, links=24, slits=2)
B = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, link_width=0.8, opening=0.4, links=12, slits=2)
C = lattice(ACRYLIC, angle=RIGHT_ANGLE, axis_length=100.0, link_width=1.0, opening=0.5, links=18, slits=2)


def test_flat_bears_nothing_and_standing_is_the_lattice_itself() -> None:
    flat, standing = pose(A, 0.0), pose(A, RIGHT_ANGLE)
    assert (flat.shear, flat.moment, flat.worst, flat.inside_radius) == (0.0, 0.0, 0.0, math.inf)
    assert (standing.shear, standing.moment) == pytest.approx((A.shear, A.moment))
    assert standing.inside_radius == pytest.approx(A.inside_radius) and standing.neutral == 0.5


@pytest.mark.parametrize(
    ("made", "twist", "standing", "shear", "neutral"),
    [(A, 7.5, 2.7928, 5.59, 0.01), (B, 15.0, 3.8293, 7.66, 0.009), (C, 10.0, 4.7267, 9.45, 0.455)],
)
def test_hinges_for_a_right_angle_forced_to_fold_back(
    made: Lattice, twist: float, standing: float, shear: float, neutral: float
) -> None:
    """Worked by hand for free bars beside the three examples; basswood breaks at 6.8 MPa, which B passes. C is
    the one whose twist is just beyond contact (10 against 9.88 degrees)."""
    folded = pose(made, math.pi)
    assert math.degrees(folded.twist) == pytest.approx(twist)
    assert folded.shear / made.shear * standing == pytest.approx(shear, abs=6e-3)
    assert folded.contact > 1.0
    assert folded.neutral == pytest.approx(neutral, abs=6e-3)


def test_neutral_line_reaches_the_inner_face_at_twice_the_contact() -> None:
    """k / (a t) - 1 / 2 is 0 at a = 2 k / t."""
    fewer = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, link_width=1.2, opening=0.2, links=20, slits=2)
    assert pose(fewer, 2 * 0.2 / 3.0 * 20).neutral == pytest.approx(0.0, abs=1e-12)


def test_a_hinge_that_is_to_fold_back_takes_twice_the_links() -> None:
    """Example B for 180 degrees, by hand: 24 links, 28.8 mm, the same neutral radius of 9.167 mm."""
    assert links_for(B, math.pi) == 24
    longer = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, link_width=0.8, opening=0.4, links=24, slits=2)
    assert longer.flat_width == pytest.approx(28.8)
    assert longer.flat_width / math.pi == pytest.approx(9.167, abs=5e-4)
    assert pose(longer, math.pi).worst <= 1.0 < pose(B, math.pi).worst
    assert links_for(longer, math.pi, margin=0.2) > 24


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_two_links_fewer_would_not_bear_the_fold(stock: Stock) -> None:
    made = design_lattice(stock, angle=RIGHT_ANGLE, axis_length=76.2)
    for angle in (math.radians(110), math.pi):
        links = links_for(made, angle)
        sizes = {"axis_length": 76.2, "link_width": made.link_width, "opening": made.opening, "slits": made.slits}
        enough, fewer = (lattice(stock, angle=RIGHT_ANGLE, links=n, **sizes) for n in (links, links - 2))
        assert pose(enough, angle).worst <= 1.0 + 1e-6
        assert pose(fewer, angle).worst > 1.0


def test_pack_of_a_loop_folded_flat() -> None:
    """Outside 152.4 x 101.6, board 3, inside radius 10: straights 126.4 and 75.6, lattices 18.0642 (sheet-metal bend
    allowance); the pack by hand 234.564 x 14.500, inside radius 4.250."""
    pack = folded_loop(126.4, 75.6, flat_width=RIGHT_ANGLE * 11.5, thickness=3.0)
    assert (pack.length, pack.thickness, pack.inside_radius) == pytest.approx((234.564, 14.5, 4.25), abs=5e-4)


def test_pack_agrees_with_its_outline_laid_out() -> None:
    """The mid-plane walked as a polyline and thickened by shapely: over all it is as long and thick as computed."""
    first, second, flat, thickness = 126.4, 75.6, RIGHT_ANGLE * 11.5, 3.0
    radius = flat / math.pi
    turn = np.linspace(-RIGHT_ANGLE, RIGHT_ANGLE, 400)
    side = first + flat + second
    right = np.column_stack((side + radius * np.cos(turn), radius * np.sin(turn)))
    left = np.column_stack((-radius * np.cos(turn), -radius * np.sin(turn)))
    board = LineString(np.vstack((right, left, right[:1]))).buffer(thickness / 2, quad_segs=32)
    x0, y0, x1, y1 = board.bounds
    pack = folded_loop(first, second, flat_width=flat, thickness=thickness)
    assert (x1 - x0, y1 - y0) == pytest.approx((pack.length, pack.thickness), abs=2e-3)
    # nothing was lost on the way: four straights' halves and four lattices
    assert LineString(np.vstack((right, left, right[:1]))).length == pytest.approx(
        2 * (first + second) + 4 * flat, abs=1e-3
    )


def test_the_corner_in_which_a_base_still_stands() -> None:
    """Against a root of the distance between both circles' outlines on the diagonal."""
    radius = widest_corner(25.0, 25.4)
    assert radius == pytest.approx(13.18, abs=5e-3)

    def gap(r: float) -> float:
        return r - math.hypot(r - 12.7, r - 12.7) - 12.5

    assert radius == pytest.approx(brentq(gap, 12.8, 20.0), abs=1e-9)


def test_poses_that_nothing_has_are_refused() -> None:
    with pytest.raises(BadSettingError, match="181"):
        pose(A, math.radians(181))
    with pytest.raises(BadSettingError, match="margin is 1"):
        links_for(A, math.pi, margin=1.0)
    with pytest.raises(BadSettingError, match="too short"):
        links_for(lattice(BASSWOOD, angle=1.0, axis_length=8.0, link_width=1.0, opening=0.2, links=2, slits=1), math.pi)
    with pytest.raises(BadSettingError, match=r"at least 4\.7 mm"):
        folded_loop(100.0, 50.0, flat_width=4.0, thickness=3.0)
    with pytest.raises(BadSettingError, match="does not stand"):
        widest_corner(30.0, 25.4)
