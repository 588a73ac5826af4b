"""Spring-back of a corner against beams solved numerically, and how a lattice stretches against a frame of bars."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from stowfold.geometry.board.lattice import Lattice, lattice
from stowfold.geometry.board.springback import extension_stiffness, spring_back
from stowfold.geometry.errors import BadSettingError
from worked_hinges import ACRYLIC, BASSWOOD, A, B, C


def test_grip_of_a_safe_hinge_is_small() -> None:
    """12.43 N mm of free bars, by hand, times what bridges make of it, at 50 mm: a quarter of a newton."""
    assert spring_back(A, BASSWOOD, reach=50.0).grip == pytest.approx(12.43 * A.restraint / 50.0, rel=1e-3)
    assert 1.0 < A.restraint < 1.1


@pytest.mark.parametrize("reach", [20.0, 150.0])
def test_bow_and_opening_agree_with_a_beam_solved_numerically(reach: float) -> None:
    """scipy's collocation on E I y'' = M(x), y = 0 at both ends; the moment falls to nothing at the joiner."""
    found = spring_back(A, BASSWOOD, reach=reach)
    rigidity = BASSWOOD.elastic_modulus * 76.2 * 3.0**3 / 12

    def slopes(x, y):
        return np.vstack([y[1], -found.moment * (1 - x / reach) / rigidity])

    x = np.linspace(0, reach, 21)
    solved = solve_bvp(slopes, lambda a, b: np.array([a[0], b[0]]), x, np.zeros((2, 21)), tol=1e-9)
    along = np.linspace(0, reach, 2001)
    assert found.opening == pytest.approx(float(solved.sol(0.0)[1]), rel=1e-5)
    assert found.bow == pytest.approx(float(solved.sol(along)[0].max()), rel=1e-5)


def test_play_in_the_joiner_turns_the_wall() -> None:
    found = spring_back(A, BASSWOOD, reach=60.0, play=0.25)
    assert found.out == pytest.approx(0.25 + 60.0 * found.opening, rel=1e-4)
    assert found.lean > found.slack > 10 * found.opening  # play outweighs bending by far
    assert spring_back(A, BASSWOOD, reach=60.0).slack == 0.0


def test_a_softer_wall_bows_more() -> None:
    stiff, soft = (spring_back(A, BASSWOOD, reach=60.0, elastic=modulus) for modulus in (11077.0, 731.0))
    assert soft.bow / stiff.bow == pytest.approx(11077 / 731)
    assert soft.grip == stiff.grip


@pytest.mark.parametrize(("words", "sizes"), [("0 mm from", {"reach": 0.0}), ("play", {"reach": 9.0, "play": -0.1})])
def test_impossible_places_are_refused(words: str, sizes: dict[str, float]) -> None:
    with pytest.raises(BadSettingError, match=words):
        spring_back(A, BASSWOOD, **sizes)


@pytest.mark.parametrize(("made", "stock", "expected"), [(A, BASSWOOD, 2.67), (B, BASSWOOD, 1.58), (C, ACRYLIC, 0.222)])
def test_stretch_of_the_worked_examples(made: Lattice, stock, expected: float) -> None:
    """2 n E t w^3 / (M L^3), worked out by hand."""
    assert extension_stiffness(made, stock) == pytest.approx(expected, rel=3e-3)


def _frame(made: Lattice, modulus: float) -> float:
    """Return the stiffness of one link between two bridges by a frame of 40 beam elements, N/mm."""
    free, count = (made.slit - made.bridge) / 2, 40
    size = free / count
    rigidity = modulus * made.thickness * made.link_width**3 / 12
    element = (
        rigidity
        / size**3
        * np.array(
            [
                [12, 6 * size, -12, 6 * size],
                [6 * size, 4 * size**2, -6 * size, 2 * size**2],
                [-12, -6 * size, 12, -6 * size],
                [6 * size, 2 * size**2, -6 * size, 4 * size**2],
            ]
        )
    )
    matrix = np.zeros((2 * count + 2, 2 * count + 2))
    for number in range(count):
        matrix[2 * number : 2 * number + 4, 2 * number : 2 * number + 4] += element
    inner = slice(2, 2 * count)  # both ends keep their direction, the last one moves by 1
    moved = -np.linalg.solve(matrix[inner, inner], matrix[inner, 2 * count])
    return float(matrix[2 * count, inner] @ moved + matrix[2 * count, 2 * count])


@pytest.mark.parametrize(("made", "stock"), [(A, BASSWOOD), (C, ACRYLIC)])
def test_stretch_agrees_with_a_frame_of_beams(made: Lattice, stock) -> None:
    """Hermite beam elements (textbook matrix, from memory): segments side by side, links in series."""
    whole = _frame(made, stock.elastic_modulus) * 2 * made.slits / made.links
    assert extension_stiffness(made, stock) == pytest.approx(whole, rel=1e-6)


def test_an_axis_without_a_cell_does_not_stretch() -> None:
    short = lattice(BASSWOOD, angle=1.0, axis_length=8.0, link_width=1.2, opening=0.2, links=4, slits=1)
    assert extension_stiffness(short, BASSWOOD) == 0.0
