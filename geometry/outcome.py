"""What the maker decides about one building, and all that comes out of it: the values of the whole flow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from .assembly.plan import Assembly
from .beam.laser import Laser
from .beam.lasers import stock_on
from .findings import Finding
from .finish.finish import Finish
from .finish.own import OwnDrawing
from .finish.tiles import Tiling
from .fit.assess import Fit
from .joints.hold import Hold
from .joints.props import Prop
from .paint.paint import Paint
from .part import Joiner, Part, Tab
from .play.checks import PlayOutcome
from .proof.proof import Proof
from .settings import BuildSettings, TrimSettings
from .sheet.layout import Layout
from .sheet.layout_wishes import LayoutWishes
from .sheet.mockup import Paper
from .sheet.order import CutLines
from .sheet.times import total_seconds
from .solid.facets import Facets
from .stow.carrying_case import CarryingCase
from .stow.stow import Stow
from .tolerance import PROOF_SINGLE
from .trim.shingles import Strips
from .trim.signboard import HungSign, Signboard

__all__ = ["Outcome", "Proposal", "Settings"]


class Proposal(StrEnum):
    """What to fill in where the maker marked nothing."""

    NONE = "none"
    NET = "net"
    BREAKS = "breaks"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Settings(BuildSettings):
    """Everything the maker decides about one building. ``square``: side of a square, mm; ``case``: cut one for it.

    laser: cuts whatever it takes; other_lasers: for what is too large for it, in the order of preference.
    layout: what parts should lie where, and on what. paper: that the mock-up is printed on.
    finishes: what the finishes look like that the model's faces name; a name that is not among them is only painted.
    floor_finish, inside_finish: names of those that the floor and the room side of walls get, empty for none.
    drawings: the maker's own, engraved on walls. paint: the colours of finishes and boards. signs: signboards, of
    the board of trim.
    """

    laser: Laser = field(default_factory=Laser)
    other_lasers: tuple[Laser, ...] = ()
    layout: LayoutWishes = field(default_factory=LayoutWishes)
    square: float = 25.4
    propose: Proposal = Proposal.NONE
    case: bool = False
    paper: Paper = Paper.A4
    proof_limit: float = PROOF_SINGLE
    finishes: Mapping[str, Finish] = field(default_factory=dict)
    floor_finish: str = ""
    inside_finish: str = ""
    drawings: tuple[OwnDrawing, ...] = ()
    signs: tuple[Signboard, ...] = ()
    paint: Paint = field(default_factory=Paint)

    @property
    def lasers(self) -> tuple[Laser, ...]:
        """All lasers of the workshop, the preferred one first."""
        return (self.laser, *self.other_lasers)

    @property
    def _trim_as_cut(self) -> TrimSettings:
        trim, second = self.trim, self.trim.second
        return replace(
            trim,
            stock=None if trim.stock is None else stock_on(trim.stock, self.laser),
            second=None if second is None else replace(second, stock=stock_on(second.stock, self.laser)),
        )

    @property
    def as_cut(self) -> Settings:
        """The same, with every stock as the preferred laser cuts it: bends and slots are shaped for its kerf.

        Where a net alone is proposed, nothing is glued for it.
        """
        return replace(
            self,
            walls=stock_on(self.walls, self.laser),
            roof=stock_on(self.roof, self.laser),
            floor=stock_on(self.floor, self.laser),
            joiners=stock_on(self.joiners, self.laser),
            trim=self._trim_as_cut,
            tiles=None
            if self.tiles is None
            else replace(
                self.tiles,
                light=stock_on(self.tiles.light, self.laser),
                dark=stock_on(self.tiles.dark, self.laser),
            ),
            closure=replace(self.closure, glue=self.closure.glue and self.propose is not Proposal.NET),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """All that comes out. findings holds those of every step, heaviest first.

    lines: per sheet, all that the laser draws. sheet_seconds: per sheet, estimated laser time of every operation
    and their total, s.
    play: what players get, None where nobody sits at a table.
    case: what the parts are carried in, None where none is wanted.
    hold: which sections nothing holds to each other.
    fit: in how many builds of real boards every joint goes together.
    assembly: how it goes together at the table, move by move.
    roof_tabs: of dormers and chimneys, in slots of the roof.
    tiling: the tiles of a floor of two boards.
    props: what holds leaves open; loose, so that nothing of them stands.
    signs: signboards that hang in slots of walls, put in at the table; flat ones are among the parts.
    strips: shingle strips that are glued on slopes.
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
    lines: tuple[CutLines, ...]
    sheet_seconds: tuple[Mapping[str, float], ...]
    findings: tuple[Finding, ...]
    play: PlayOutcome | None = None
    case: CarryingCase | None = None
    hold: Hold = field(default_factory=Hold)
    fit: Fit = field(default_factory=Fit)
    assembly: Assembly = field(default_factory=Assembly)
    roof_tabs: tuple[Tab, ...] = ()
    tiling: Tiling = field(default_factory=Tiling)
    props: tuple[Prop, ...] = ()
    signs: tuple[HungSign, ...] = ()
    strips: Strips = field(default_factory=Strips)

    @property
    def seconds(self) -> dict[str, float]:
        """Estimated laser time of all sheets, per operation, s."""
        return total_seconds(self.sheet_seconds)

    @property
    def standing(self) -> tuple[Part, ...]:
        """Everything that stands in the building: its parts, tiles on the floor, strips on slopes, and signs."""
        return (*self.parts, *self.tiling.laid, *self.strips.laid, *(sign.part for sign in self.signs))

    @property
    def pieces(self) -> tuple[Part, ...]:
        """Everything that is cut: the building, tiles of its floor, props, signs, and the carrying case."""
        case = self.case.parts if self.case is not None else ()
        signs = (sign.part for sign in self.signs)
        return (*self.parts, *self.tiling.parts, *(prop.part for prop in self.props), *signs, *self.strips.parts, *case)
