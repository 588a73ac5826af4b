"""Assessment: in how many builds every joint goes together, and which measurement or change would help most."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..board.stock import Stock
from ..findings import Finding, Location, Severity
from .clearances import Joint, JointKind
from .draws import Draws
from .ranges import Measured

__all__ = ["Fit", "JointFit", "assess"]

#: A joint that fewer builds than this share get together is told of.
ENOUGH = 0.95

#: A wider play is advised for this share of builds, in steps of so many mm.
_AIMED, _STEP = 0.99, 0.05

#: Lattices: their clearance is a share of the bend, so that no play would widen it.
_BENDS = (JointKind.CLOSES, JointKind.HOLDS)


@dataclass(frozen=True, slots=True)
class JointFit:
    """One joint. clearance as drawn, least and most: mm, for bends as a share; share: of builds that go together."""

    kind: JointKind
    parts: tuple[str, ...]
    clearance: float
    least: float
    most: float
    share: float


@dataclass(frozen=True, slots=True)
class Fit:
    """All joints of a building; share: of builds in which every one of them goes together, None without joints.

    kinds: the same for all joints of a kind at once. measured: what the share would be with more measured before.
    """

    joints: tuple[JointFit, ...] = ()
    share: float | None = None
    kinds: tuple[tuple[JointKind, float], ...] = ()
    measured: tuple[tuple[Measured, float], ...] = ()
    findings: tuple[Finding, ...] = ()


def assess(joints: Sequence[Joint], stocks: Mapping[str, Stock]) -> Fit:
    """Return how joints go together in builds by chance, which are always the same ones."""
    if not joints:
        return Fit()
    draws = Draws(stocks)
    clear = [joint.drawn(draws) for joint in joints]
    goes = [values >= 0.0 for values in clear]
    lines = tuple(
        JointFit(joint.kind, joint.parts, joint.nominal(), *joint.ends(stocks), float(np.mean(together)))
        for joint, together in zip(joints, goes, strict=True)
    )
    kinds = _by_kind(joints, goes)
    share = float(np.mean(np.logical_and.reduce(goes)))
    better = _measured(joints, stocks) if any(value < ENOUGH for _, value in kinds) else {}
    measured = tuple((what, _all_of(found)) for what, found in better.items())
    findings = tuple(
        _told(kind, value, _of_kind(joints, kind), better, _short_of(joints, clear, kind))
        for kind, value in kinds
        if value < ENOUGH
    )
    return Fit(lines, share, kinds, measured, findings)


def _by_kind(joints: Sequence[Joint], goes: Sequence[np.ndarray]) -> tuple[tuple[JointKind, float], ...]:
    """Return for every kind the share of builds in which all joints of it go together."""
    found = []
    for kind in JointKind:
        mine = [together for joint, together in zip(joints, goes, strict=True) if joint.kind is kind]
        if mine:
            found.append((kind, float(np.mean(np.logical_and.reduce(mine)))))
    return tuple(found)


def _measured(joints: Sequence[Joint], stocks: Mapping[str, Stock]) -> dict[Measured, dict[JointKind, np.ndarray]]:
    """Return, for what may be measured of boards of catalogue values, which builds then go together, by kind."""
    if all({"thickness", "kerf"} <= set(stock.measured) for stock in stocks.values()):
        return {}
    better: dict[Measured, dict[JointKind, np.ndarray]] = {}
    for what in Measured:
        draws = Draws(stocks, measured=what)
        found: dict[JointKind, np.ndarray] = {}
        for joint in joints:
            together = joint.drawn(draws) >= 0.0
            found[joint.kind] = found[joint.kind] & together if joint.kind in found else together
        better[what] = found
    return better


def _all_of(found: Mapping[JointKind, np.ndarray]) -> float:
    return float(np.mean(np.logical_and.reduce(list(found.values()))))


def _of_kind(joints: Sequence[Joint], kind: JointKind) -> list[Joint]:
    return [joint for joint in joints if joint.kind is kind]


def _short_of(joints: Sequence[Joint], clear: Sequence[np.ndarray], kind: JointKind) -> float:
    """Return by how much more clearance nearly all builds would go together, for all joints of a kind."""
    least = np.minimum.reduce([values for joint, values in zip(joints, clear, strict=True) if joint.kind is kind])
    return max(0.0, -float(np.quantile(least, 1.0 - _AIMED)))


def _told(
    kind: JointKind,
    share: float,
    joints: Sequence[Joint],
    better: Mapping[Measured, Mapping[JointKind, np.ndarray]],
    short: float,
) -> Finding:
    """Return the finding about a kind of joint, with the cheapest cure that is enough, else the one that helps most."""
    parts = sorted({joint.parts[0] for joint in joints})
    named = ", ".join(parts[:3]) + (f" and {len(parts) - 3} more" if len(parts) > 3 else "")
    message = f"{kind.value.capitalize()} ({named}): goes together in {100 * share:.0f} of 100 builds; "
    return Finding(Severity.WARNING, "joint-fit", message + _cure(kind, share, better, short), Location(part=parts[0]))


def _cure(
    kind: JointKind, share: float, better: Mapping[Measured, Mapping[JointKind, np.ndarray]], short: float
) -> str:
    words = {Measured.THICKNESS: "measure the board", Measured.KERF: "cut the coupon", Measured.BOTH: "do both"}
    shares = {what: float(np.mean(found[kind])) for what, found in better.items()}
    for what, value in shares.items():
        if value >= ENOUGH:
            return f"{words[what]} first (then {100 * value:.0f})"
    if kind in _BENDS:
        best = max(shares, key=shares.__getitem__, default=None)
        helps = best is not None and shares[best] > share + 0.01
        first = f"{words[best]} first (then {100 * shares[best]:.0f}), or " if helps and best is not None else ""
        return f"{first}allow a larger inside radius or another board"
    return f"give it {math.ceil(short / _STEP) * _STEP:.2f} mm more play"
