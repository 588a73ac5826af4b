"""Torsion coefficients against the handbook table and against a numerical solution of our own."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import simpson
from scipy.sparse import diags, identity, kron
from scipy.sparse.linalg import spsolve
from stowfold.geometry.board.torsion import (
    coefficients,
    peak_stress,
    torque,
    torsion_constant,
    warping_constant,
)
from stowfold.geometry.errors import BadSettingError

# Ratio, k1, k2 as the usual handbook table prints them: S. Timoshenko and J. N. Goodier, Theory of
# Elasticity, chapter on torsion (from memory, the book was not at hand). The k1 of ratios 1.5, 2, 3
# and 4 also stand in P. Jimenez Montoya, Hormigon Armado, 14th edition, p. 405, as quoted in an open
# structural library; that table prints 0.313 for ratio 10, where the series gives 0.3123.
HANDBOOK = [
    (1.0, 0.141, 0.208),
    (1.2, 0.166, 0.219),
    (1.5, 0.196, 0.231),
    (2.0, 0.229, 0.246),
    (2.5, 0.249, 0.258),
    (3.0, 0.263, 0.267),
    (4.0, 0.281, 0.282),
    (5.0, 0.291, 0.291),
    (10.0, 0.312, 0.312),
]


@pytest.mark.parametrize(("ratio", "k1", "k2"), HANDBOOK)
def test_coefficients_round_to_the_handbook_table(ratio: float, k1: float, k2: float) -> None:
    found = coefficients(ratio)
    assert float(found.k1) == pytest.approx(k1, abs=0.0006)
    assert float(found.k2) == pytest.approx(k2, abs=0.0006)


@pytest.mark.parametrize(("ratio", "k1"), [(1.0, 0.140577), (1.5, 0.195761), (2.0, 0.228682), (3.0, 0.263317)])
def test_k1_agrees_with_printed_series_values(ratio: float, k1: float) -> None:
    """Six digits as printed beside Saint-Venant's series (1855) in a text read on line."""
    assert float(coefficients(ratio).k1) == pytest.approx(k1, abs=6e-7)


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0, 3.0, 4.0, 10.0, 30.0])
def test_k1_agrees_with_the_quick_form(ratio: float) -> None:
    """Roark's Formulas for Stress and Strain, table of torsion, rectangular section; good to 0.5 per cent."""
    quick = 1.0 / 3.0 - 0.21 / ratio * (1.0 - 1.0 / (12.0 * ratio**4))
    assert float(coefficients(ratio).k1) == pytest.approx(quick, rel=0.005)


def test_very_flat_bar_reaches_one_third_without_overflow() -> None:
    """The membrane analogy gives k1 = k2 = 1/3 for a thin strip."""
    with np.errstate(all="raise", under="ignore"):
        found = coefficients(np.array([1e3, 1e6]))
    assert found.k1[1] == pytest.approx(1 / 3, abs=1e-6)
    assert found.k2[1] == pytest.approx(1 / 3, abs=1e-6)
    assert found.k_tau[1] == pytest.approx(1.0, abs=1e-12)


def _stress_function(ratio: float, cells: int) -> tuple[float, float]:
    """Return k1 and k_tau from finite differences of Prandtl's stress function, laplacian = -2, c = 1."""
    step = 1.0 / cells
    across, along = cells - 1, round(ratio * cells) - 1

    def second(count: int):  # the second difference with zero at both ends
        return diags([1.0, -2.0, 1.0], [-1, 0, 1], shape=(count, count)) / step**2

    laplacian = kron(second(along), identity(across)) + kron(identity(along), second(across))
    psi = spsolve(laplacian.tocsc(), np.full(along * across, -2.0)).reshape(along, across)
    k1 = 2.0 * psi.sum() * step**2 / ratio
    near, next_to_it = psi[along // 2, 0], psi[along // 2, 1]  # middle of the longer side
    return float(k1), float((4.0 * near - next_to_it) / (2.0 * step))


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.5, 4.0])
def test_series_agrees_with_finite_differences(ratio: float) -> None:
    k1, k_tau = _stress_function(ratio, 60)
    found = coefficients(ratio)
    assert float(found.k1) == pytest.approx(k1, rel=1e-3)
    assert float(found.k_tau) == pytest.approx(k_tau, rel=1e-3)


def test_arrays_give_what_single_values_give() -> None:
    ratios = np.array([[1.0, 2.0], [3.75, 8.0]])
    found = coefficients(ratios)
    assert found.k1.shape == ratios.shape
    assert found.k1[1, 0] == float(coefficients(3.75).k1)


@pytest.mark.parametrize("ratio", [0.5, 0.0, -1.0, float("nan")])
def test_ratio_below_one_is_refused(ratio: float) -> None:
    with pytest.raises(BadSettingError, match="ratio"):
        coefficients(ratio)


def test_width_and_thickness_may_change_places() -> None:
    assert torsion_constant(0.8, 3.0) == torsion_constant(3.0, 0.8)


@pytest.mark.parametrize(("width", "factor"), [(1.2, 6.85), (0.8, 7.27)])
def test_halving_a_thin_link_divides_its_stiffness_by_nearly_eight(width: float, factor: float) -> None:
    """A thin strip follows the cube of its width (membrane analogy); the ends of the section take a little."""
    assert float(torsion_constant(width, 3.0) / torsion_constant(width / 2, 3.0)) == pytest.approx(factor, abs=0.01)


def test_torque_and_stress_of_a_square_shaft() -> None:
    """Handbook: torque = 0.208 a^3 times the peak stress for a square of side a."""
    turned = float(torque(5.0, 5.0, shear_modulus=80.0, twist=0.1, length=40.0))
    stress = float(peak_stress(5.0, 5.0, shear_modulus=80.0, twist=0.1, length=40.0))
    assert turned / stress == pytest.approx(0.208 * 125.0, rel=2e-3)


@pytest.mark.parametrize(("width", "thickness"), [(1.0, 1.0), (1.2, 3.0), (0.8, 3.0), (5.0, 0.5)])
def test_warping_constant_is_the_integral_of_the_warping_function(width: float, thickness: float) -> None:
    """By scipy's Simpson rule over the series of Timoshenko and Goodier."""
    short, long = min(width, thickness), max(width, thickness)
    y, z = np.meshgrid(np.linspace(-short / 2, short / 2, 121), np.linspace(-long / 2, long / 2, 241))
    psi = y * z
    for n in range(25):
        wave = (2 * n + 1) * np.pi / short
        rise = np.exp(wave * (np.abs(z) - long / 2)) * (1 - np.exp(-2 * wave * np.abs(z))) / (1 + np.exp(-wave * long))
        psi -= 8 * short**2 / (np.pi * (2 * n + 1)) ** 3 * (-1) ** n * np.sin(wave * y) * np.sign(z) * rise
    whole = simpson(simpson(psi**2, x=y[0], axis=1), x=z[:, 0])
    assert float(warping_constant(width, thickness)) == pytest.approx(whole, rel=2e-4)


def test_warping_constants_of_a_square_and_of_a_thin_strip() -> None:
    """1.34e-4 a^6 (from memory of tables of solid sections) and width^3 thickness^3 / 144 (Vlasov)."""
    assert float(warping_constant(2.0, 2.0)) == pytest.approx(1.34e-4 * 64, rel=5e-3)
    with np.errstate(all="raise", under="ignore"):
        assert float(warping_constant(0.01, 3.0)) == pytest.approx(0.03**3 / 144, rel=1e-3)
