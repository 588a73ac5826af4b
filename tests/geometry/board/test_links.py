"""Held links against three-dimensional finite elements and against the limits that theory gives."""

from __future__ import annotations

import cell_by_elements as cell
import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.sparse import diags, identity, kron
from scipy.sparse.linalg import spsolve
from slow_cases import one_quick
from stowfold.geometry.board.links import across_modulus, held_ends, restraint
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.board.torsion import torsion_constant, warping_constant

#: A mesh that is solved in well under a second and within 1 per cent of one of four times its size.
SMALL = (2, 1, 1, 8, 2)


def _held(width: float, opening: float, thickness: float, slit: float, bridge: float, board) -> tuple[float, float]:
    """Return the stiffness of a free segment, N mm, and the factor of its held ends."""
    free = (slit - bridge) / 2
    rigidity = cell.torsional_rigidity(width, thickness, across=board.shear[0], through=board.shear[2])
    factor = restraint(
        np.asarray(width),
        np.asarray(opening),
        thickness,
        free=np.asarray(free),
        bridge=np.asarray(bridge),
        rigidity=rigidity,
        along=board.moduli[1],
        across=board.moduli[0],
    )
    return float(rigidity / free), float(factor)


@pytest.mark.parametrize(
    ("width", "opening", "slit", "bridge", "board"),
    one_quick(
        [
            (1.2, 0.2, 33.6, 3.0, cell.BASSWOOD),  # one kerf line, worked example A
            (0.8, 0.4, 33.6, 3.0, cell.BASSWOOD),  # slots, worked example B
            (1.0, 0.5, 45.5, 3.0, cell.isotropic(3200.0, 0.37)),  # cast acrylic, worked example C
            (1.6, 1.2, 30.0, 2.1, cell.isotropic(2080.0, 0.3)),  # wide slots: bridges bend most
        ]
    ),
    ids=["line", "slot", "acrylic", "wide"],
)
def test_stiffness_agrees_with_finite_elements(width: float, opening: float, slit: float, bridge: float, board) -> None:
    """Within 4 per cent; the free bar alone is up to 15 per cent off."""
    free, factor = _held(width, opening, 3.0, slit, bridge, board)
    found = cell.twisting_stiffness(width, opening, 3.0, slit=slit, bridge=bridge, board=board, fine=SMALL)
    assert free * factor == pytest.approx(found, rel=0.04)
    assert free == pytest.approx(found, rel=0.16)


def test_closed_form_solves_the_equation_of_the_bar() -> None:
    """scipy's collocation on E C phi'''' - G J phi'' + kappa phi = 0, the bed only beside the bridge."""
    width, opening, thickness, slit, bridge, board = 0.8, 0.4, 3.0, 20.0, 2.1, cell.BASSWOOD
    free, factor = _held(width, opening, thickness, slit, bridge, board)
    rigidity = free * (slit - bridge) / 2
    warping = board.moduli[1] * float(warping_constant(width, thickness))
    bed = board.moduli[0] * thickness**3 / 12 / ((width + opening) / 2)
    middle = (slit + bridge) / 4
    lengths = (bridge / 2, middle - bridge / 2)

    def slopes(x, y):
        """Both stretches mapped onto 0 .. 1: beside the bridge, then free."""
        rows = []
        for part, (length, stiff) in enumerate(zip(lengths, (bed, 0.0), strict=True)):
            phi, one, two, three = y[4 * part : 4 * part + 4]
            rows += [one * length, two * length, three * length, length * (rigidity * two - stiff * phi) / warping]
        return np.vstack(rows)

    def ends(a, b):
        return np.array([a[1], a[3], *(b[:4] - a[4:]), b[4] - 0.5, b[6]])

    start = np.linspace(0, 1, 40)
    found = solve_bvp(slopes, ends, start, np.zeros((8, 40)), tol=1e-8, max_nodes=20000)
    assert found.success
    torque = rigidity * found.y[5, -1] - warping * found.y[7, -1]
    assert free * factor == pytest.approx(torque, rel=1e-5)


def test_a_long_link_of_stiff_bridges_loses_two_warping_lengths() -> None:
    """V. Z. Vlasov: a bar whose ends cannot warp twists as one shorter by 2 sqrt(E C / G J) (from memory)."""
    rigidity, along, free = 240.0, 11000.0, 500.0
    length = float(np.sqrt(along * warping_constant(0.8, 3.0) / rigidity))
    factor = restraint(
        np.asarray(0.8),
        np.asarray(0.4),
        3.0,
        free=np.asarray(free),
        bridge=np.asarray(50.0),
        rigidity=np.asarray(rigidity),
        along=along,
        across=1e12,
    )
    assert float(factor) == pytest.approx(free / (free - 2 * length), rel=1e-4)


def test_equal_roots_are_passed_without_a_jump() -> None:
    """Where 4 E C kappa = (G J)^2 the two solutions of the equation become one."""
    rigidity, along = 240.0, 11000.0
    critical = rigidity**2 / (4 * along * float(warping_constant(0.8, 3.0))) * 6 * 1.2 / 27.0
    factors = [
        float(
            restraint(
                np.asarray(0.8),
                np.asarray(0.4),
                3.0,
                free=np.asarray(15.0),
                bridge=np.asarray(3.0),
                rigidity=np.asarray(rigidity),
                along=along,
                across=critical * share,
            )
        )
        for share in (0.999, 1.0, 1.001)
    ]
    assert all(np.isfinite(factors))
    assert factors[1] == pytest.approx((factors[0] + factors[2]) / 2, rel=1e-5)


def test_wood_is_softer_across_its_links_and_other_boards_are_not() -> None:
    stocks = read_stocks()
    mdf, basswood = find_stock("mdf-3", stocks), find_stock("basswood-3.2", stocks)
    assert across_modulus(mdf) == mdf.elastic_modulus
    assert across_modulus(basswood) == pytest.approx(731.0, abs=1.0)  # E_R of basswood, Wood Handbook, from memory


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("birch-plywood-3", 1.05, 1.16),
        ("basswood-3.2", 1.04, 1.16),
        ("mdf-3", 0.99, 1.05),
        ("cast-acrylic-3", 0.97, 1.03),
    ],
)
def test_corners_of_each_board_lie_in_the_band_of_the_elements(name: str, low: float, high: float) -> None:
    """One link of 0.8 mm and slots of 0.4 mm, axes of one and a half to three inches: what the elements gave for
    slits of 30 to 72 mm (free bar over elements 0.87 to 0.99, turned round)."""
    stock = find_stock(name, read_stocks())
    free = np.array([16.0, 28.0, 35.0])
    same = np.ones(3)
    found = held_ends(stock, link_width=0.8 * same, opening=0.4 * same, bridge=stock.bridge * same, free=free)
    assert (np.diff(np.abs(found - 1.0)) < 0.0).all()  # ends weigh less on a longer link
    assert low < found.min() and found.max() < high


@pytest.mark.parametrize("stock", read_stocks(), ids=lambda stock: stock.name)
def test_links_of_nearly_no_length_are_not_taken_as_soft(stock) -> None:
    """Beyond what elements confirmed nothing is gained by bridges that give way; everything stays finite."""
    free = np.geomspace(1e-6, 300.0, 400)
    same = np.ones(len(free))
    found = held_ends(stock, link_width=1.6 * same, opening=1.2 * same, bridge=stock.bridge * same, free=free)
    assert np.isfinite(found).all() and (found > 0.0).all()
    assert (found[free < 2.9 * stock.thickness] >= 1.0).all()
    assert found[-1] == pytest.approx(1.0, abs=0.03)  # and ends no longer weigh


def test_a_link_with_two_shear_moduli() -> None:
    """A thin link twists by the modulus through the board alone; equal moduli give Saint-Venant's bar;
    basswood 1.2 x 3 (G 620 and 510) gives 680 or 774 N mm^2, the geometric mean 726."""
    both = {"across": 562.0, "through": 562.0}
    assert float(cell.torsional_rigidity(1.2, 3.0, **both)) == pytest.approx(562.0 * float(torsion_constant(1.2, 3.0)))
    thin = float(cell.torsional_rigidity(0.01, 3.0, across=620.0, through=133.0))
    assert thin == pytest.approx(133.0 * 3.0 * 0.01**3 / 3, rel=0.01)
    assert float(cell.torsional_rigidity(1.2, 3.0, across=620.0, through=510.0)) == pytest.approx(680.0, abs=1.0)
    assert float(cell.torsional_rigidity(1.2, 3.0, across=510.0, through=620.0)) == pytest.approx(774.0, abs=1.0)


def test_two_shear_moduli_agree_with_finite_differences() -> None:
    """Prandtl's function with different coefficients in both directions, solved on a grid of 60 x 150."""
    width, thickness, across, through, cells = 1.2, 3.0, 620.0, 133.0, 60
    step = width / cells
    inner, outer = cells - 1, round(thickness / step) - 1

    def second(count: int):
        return diags([1.0, -2.0, 1.0], [-1, 0, 1], shape=(count, count)) / step**2

    # d/du (1/G_through d/du) + d/dz (1/G_across d/dz) = -2 for a twist of one
    operator = kron(identity(outer), second(inner)) / through + kron(second(outer), identity(inner)) / across
    psi = spsolve(operator.tocsc(), np.full(inner * outer, -2.0)).reshape(outer, inner)
    rigidity = 2.0 * psi.sum() * step**2
    assert float(cell.torsional_rigidity(width, thickness, across=across, through=through)) == pytest.approx(
        rigidity, rel=2e-3
    )
