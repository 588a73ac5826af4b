"""The whole flow in one short function: a solid and the maker's settings become parts, proof and sheets."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path

from .findings import Finding
from .flat.part import Joiner, Part, Tab
from .flat.proof import Proof
from .flat.settings import BuildSettings
from .sheet.laser import Laser
from .sheet.layout import Layout
from .solid.facets import Facets
from .solid.solid import Solid
from .tolerance import PROOF_SINGLE

__all__ = ["Outcome", "Proposal", "Settings", "Stow", "deliver", "run"]


class Proposal(str, Enum):
    """What to fill in where the maker marked nothing."""

    NONE = "none"
    NET = "net"
    BREAKS = "breaks"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Settings(BuildSettings):
    """Everything the maker decides about one building. ``square``: side of a square, mm."""

    laser: Laser = field(default_factory=Laser)
    square: float = 25.4
    propose: Proposal = Proposal.NONE
    proof_limit: float = PROOF_SINGLE


@dataclass(frozen=True, slots=True)
class Stow:
    """Stowed size: stack_height of all parts, box (length, width, height) that takes them, and the
    share of the standing building's bounding volume that the box takes. mm."""

    stack_height: float
    box: tuple[float, float, float]
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """All that comes out. findings holds those of every step, heaviest first.

    seconds: per operation, estimated laser time.
    """

    title: str
    settings: Settings
    facets: Facets
    parts: tuple[Part, ...]
    joiners: tuple[Joiner, ...]
    tabs: tuple[Tab, ...]
    proof: Proof
    stow: Stow
    layout: Layout
    seconds: dict[str, float]
    findings: tuple[Finding, ...]


def run(solid: Solid, settings: Settings, *, title: str, progress: Callable[[float], None] | None = None) -> Outcome:
    """Turn a solid into parts, proof and layout. Raises GeometryError where nothing can be made."""
    raise NotImplementedError


def deliver(outcome: Outcome, folder: Path, *, anyway: bool = False, date: str = "") -> tuple[Path, ...]:
    """Write sheets, report.json and guide.html into ``folder`` and return the files written.

    With a finding of severity error the sheets are left out unless ``anyway``.
    Raises UnreadableError where the folder cannot be written; nothing is half-written.
    """
    raise NotImplementedError
