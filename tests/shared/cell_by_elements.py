"""One cell of a lattice by three-dimensional finite elements: no bar theory, only Hooke's law.

The cell reaches from the middle of a bridge of one row to the middle of the nearest bridge of the next:
u from row to row (0 .. w + k), v along the axis (0 .. (s + b) / 2), z through the board. An endless
lattice under uniform bending is its own mirror image about every row and every bridge's middle, so
these planes stay plane: u = 0 rests, u = w + k turns by the twist about v, both v planes keep their
place. Displacements in the plane of the board are odd in z, so half the thickness is enough.

Mesh, elements (27 nodes, quadratic) and assembly: scikit-fem; its own tests hold it to closed forms.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from skfem import Basis, BilinearForm, ElementHex2, ElementVector, MeshHex, condense, solve
from skfem.helpers import sym_grad
from stowfold.geometry.board.torsion import torsion_constant


class Elastic(NamedTuple):
    """Engineering constants along u, v, z: moduli, Poisson's ratios uv uz vz, shear moduli uv uz vz, MPa."""

    moduli: tuple[float, float, float]
    poisson: tuple[float, float, float]
    shear: tuple[float, float, float]


def isotropic(modulus: float, poisson: float) -> Elastic:
    """Return the constants of a board that is the same in all directions."""
    return Elastic((modulus,) * 3, (poisson,) * 3, (modulus / (2 * (1 + poisson)),) * 3)


# Basswood with the grain along the slits: ratios of the Wood Handbook FPL-GTR-282, tables 5-1 and 5-2, from
# memory (E_R .066, E_T .027, G_LR .056, G_LT .046, G_RT taken as .012 of E_L = 11077 MPa; the board is
# flat-sawn: u radial, z tangential). nu_RL = nu_LR E_R / E_L.
BASSWOOD = Elastic((731.0, 11077.0, 299.0), (0.024, 0.9, 0.406), (620.0, 133.0, 510.0))


def torsional_rigidity(
    width: float | np.ndarray, thickness: float | np.ndarray, *, across: float, through: float
) -> np.ndarray:
    """Return torque / (twist / length) of a link whose shear moduli differ, N mm^2.

    across: modulus for shear along the link in the direction of its width; through: in that of the
    thickness, MPa. A bar stretched by sqrt(through / across) in its width obeys the isotropic equation
    (S. G. Lekhnitskii, *Theory of Elasticity of an Anisotropic Elastic Body*, torsion of an orthotropic
    bar of rectangular section; from memory, and derived again).
    """
    stretch = np.sqrt(through / across)
    return np.asarray(across / stretch * torsion_constant(np.multiply(width, stretch), thickness))


def twisting_stiffness(
    link_width: float,
    opening: float,
    thickness: float,
    *,
    slit: float,
    bridge: float,
    board: Elastic,
    fine: tuple[int, int, int, int, int] = (3, 1, 1, 10, 2),
) -> float:
    """Return torque per radian of one segment, N mm: twice the strain energy of a unit twist.

    fine: elements across the link, half a slit, along half a bridge, the free length, half the thickness.
    """
    pitch, height = link_width + opening, (slit + bridge) / 2
    across, gap, held, free, through = fine
    wave = np.linspace(0.0, 1.0, free + 1)
    wave -= 0.75 * np.sin(2 * np.pi * wave) / (2 * np.pi)  # four times finer at the bridges
    u = _joined(
        np.linspace(0, opening / 2, gap + 1),
        np.linspace(opening / 2, pitch - opening / 2, across + 1),
        np.linspace(pitch - opening / 2, pitch, gap + 1),
    )
    v = _joined(
        np.linspace(0, bridge / 2, held + 1),
        bridge / 2 + (height - bridge) * wave,
        np.linspace(height - bridge / 2, height, held + 1),
    )
    mesh = MeshHex.init_tensor(u, v, np.linspace(0, thickness / 2, through + 1))
    at = mesh.p[:, mesh.t].mean(axis=1)
    first = (at[0] < opening / 2) & (at[1] > bridge / 2)
    second = (at[0] > pitch - opening / 2) & (at[1] < height - bridge / 2)
    basis = Basis(mesh.remove_elements(np.nonzero(first | second)[0]), ElementVector(ElementHex2()), intorder=4)

    stiff = np.linalg.inv(_compliance(board))
    shear = ((0, 1, board.shear[0]), (0, 2, board.shear[1]), (1, 2, board.shear[2]))

    @BilinearForm
    def energy(a, b, _):
        one, other = sym_grad(a), sym_grad(b)
        total = sum(4 * modulus * one[i, j] * other[i, j] for i, j, modulus in shear)
        return total + sum(stiff[i, j] * one[i, i] * other[j, j] for i in range(3) for j in range(3))

    matrix = energy.assemble(basis)
    where, way = basis.doflocs, np.arange(matrix.shape[0]) % 3
    near = [np.isclose(where[i], 0.0, atol=1e-9) for i in range(3)]
    moved = (way == 0) & np.isclose(where[0], pitch, atol=1e-9)
    given = moved | ((way == 0) & near[0]) | ((way < 2) & near[2])
    given |= (way == 1) & (near[1] | np.isclose(where[1], height, atol=1e-9))
    corner = (way == 2) & near[0] & near[1] & near[2]
    assert corner.sum() == 1
    start = np.where(moved, where[2], 0.0)
    found = solve(*condense(matrix, x=start, D=np.nonzero(given | corner)[0]))
    return 2.0 * float(found @ (matrix @ found))  # the other half of the thickness


def _joined(*pieces: np.ndarray) -> np.ndarray:
    return np.concatenate([pieces[0], *(piece[1:] for piece in pieces[1:])])


def _compliance(board: Elastic) -> np.ndarray:
    (first, second, third), (uv, uz, vz) = board.moduli, board.poisson
    matrix = np.array(
        [
            [1 / first, -uv / first, -uz / first],
            [-uv / first, 1 / second, -vz / second],
            [-uz / first, -vz / second, 1 / third],
        ]
    )
    assert (np.linalg.eigvalsh(matrix) > 0).all()  # a board that gives back what was put in, no more
    return matrix
