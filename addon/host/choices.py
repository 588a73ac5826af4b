"""Choices: what the maker set in the scene, as the settings of the flow.

It needs the packages of the flow, so it is imported only when something is to be made (``reading.read_settings``).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ..geometry.board.stock import Stock
from ..geometry.errors import BadSettingError
from ..geometry.outcome import Proposal, Settings
from ..geometry.settings import (
    BoardFace,
    ClosureKind,
    ClosureSettings,
    FloorSettings,
    FloorTiles,
    FloorWay,
    HingeSettings,
    JoinerSettings,
    SecondShingles,
    ShinglePattern,
    TrimSettings,
)
from ..geometry.sheet.layout_wishes import LayoutWishes
from ..geometry.sheet.mockup import Paper
from .drawings import drawings_in
from .finishes import finishes_in
from .hinge_wishes import wishes_of
from .laser_library import laser_in, other_lasers_in
from .lengths import as_typed
from .measuring import known_stocks
from .openings import trim_is_wanted
from .paint import paint_in
from .pins import lasers_of_parts, pins_of
from .signboards import signs_in
from .workshop import offcuts_in

if TYPE_CHECKING:
    from bpy.types import PropertyGroup, Scene

__all__ = ["settings_of"]


def settings_of(scene: Scene) -> Settings:
    """Return what the maker set in the scene as the settings of the flow.

    Raises BadSettingError for a stock that is not known any more.
    """
    chosen = scene.stowfold
    stocks = known_stocks(scene)
    walls = _stock(scene, stocks, "walls")
    return Settings(
        walls=walls,
        roof=_stock(scene, stocks, "roof"),
        floor=_stock(scene, stocks, "floor"),
        joiners=_stock(scene, stocks, "joiners"),
        laser=laser_in(scene),
        other_lasers=other_lasers_in(scene),
        case=chosen.carrying_case,
        paper=Paper[chosen.paper],
        face=BoardFace(chosen.face.lower()),
        square=as_typed(chosen.square),
        hinge=_hinge(chosen),
        joiner=_joiner(chosen.joiner),
        ground=_floor(scene),
        closure=_closure(chosen),
        trim=_trim(scene, stocks),
        tiles=_tiles(scene, stocks),
        floor_finish="" if chosen.floor_finish is None else chosen.floor_finish.name,
        inside_finish="" if chosen.inside_finish is None else chosen.inside_finish.name,
        drawings=drawings_in(scene),
        signs=signs_in(scene),
        finishes=finishes_in(scene, kerf=walls.kerf),
        paint=paint_in(scene),
        propose=Proposal(chosen.propose.lower()),
        layout=_layout(scene),
    )


def _stock(scene: Scene, stocks: Mapping[str, Stock], kind: str) -> Stock:
    """Return the stock chosen for what the field ``kind`` names."""
    name = getattr(scene.stowfold.stocks, kind)
    if name not in stocks:
        what = kind.replace("_", " ")
        raise BadSettingError(f"The stock chosen for the {what} is not known any more; choose another one")
    return stocks[name]


def _hinge(chosen: PropertyGroup) -> HingeSettings:
    return HingeSettings(
        inside_radius=as_typed(chosen.inside_radius),
        along_grain=chosen.along_grain,
        grain_joiners=chosen.grain_joiners,
        wishes=wishes_of(chosen.hinge),
    )


def _joiner(chosen: PropertyGroup) -> JoinerSettings:
    return JoinerSettings(
        core_width=as_typed(chosen.core_width),
        cheek_width=as_typed(chosen.cheek_width),
        gap=as_typed(chosen.gap),
        margin=as_typed(chosen.margin),
        slide=as_typed(chosen.slide),
        paint=as_typed(chosen.paint),
        painted_faces=chosen.painted_faces,
        peg=as_typed(chosen.peg),
    )


def _floor(scene: Scene) -> FloorSettings:
    chosen = scene.stowfold
    return FloorSettings(
        wanted=not chosen.play_mat,
        rim=as_typed(chosen.rim),
        square=as_typed(chosen.square) if chosen.engrave_grid else None,
        strip=_strip(scene),
    )


def _strip(scene: Scene) -> float:
    """Return how far outside the squares the walls of buildings that were added stand, mm."""
    buildings = (target.stowfold.building for target in scene.objects if target.stowfold.is_block_out)
    return max((as_typed(building.strip) for building in buildings if building.was_added), default=0.0)


def _closure(chosen: PropertyGroup) -> ClosureSettings:
    return ClosureSettings(
        kind=ClosureKind(chosen.closure.lower()),
        magnet_diameter=as_typed(chosen.magnet_diameter),
        magnet_thickness=as_typed(chosen.magnet_thickness),
        magnet_field=as_typed(chosen.magnet_field),
        cover=as_typed(chosen.magnet_cover),
        pull=as_typed(chosen.magnet_pull),
        glue=chosen.glue_strips,
        caps=chosen.caps,
    )


def _trim(scene: Scene, stocks: Mapping[str, Stock]) -> TrimSettings:
    """Return what is asked for of trim, which has a stock only where something needs it."""
    chosen = scene.stowfold.trim
    return TrimSettings(
        stock=_stock(scene, stocks, "trim") if trim_is_wanted(scene) or signs_in(scene) else None,
        frames=chosen.frames,
        sills=chosen.sills,
        shutters=chosen.shutters,
        corner_boards=chosen.corner_boards,
        timbers=chosen.timbers,
        shingles=chosen.shingles,
        second=_second_shingles(scene, stocks) if chosen.shingles and chosen.second != "NONE" else None,
        width=as_typed(chosen.width),
    )


def _second_shingles(scene: Scene, stocks: Mapping[str, Stock]) -> SecondShingles:
    chosen = scene.stowfold.trim
    stock = _stock(scene, stocks, "second_shingles")
    return SecondShingles(stock, ShinglePattern[chosen.second], chosen.second_courses)


def _tiles(scene: Scene, stocks: Mapping[str, Stock]) -> FloorTiles | None:
    """Return the two boards of the floor; None where it is of one, or there is nothing to make of the second."""
    chosen = scene.stowfold
    inlay = chosen.floor_way == "INLAY"
    if not chosen.floor_tiles or (chosen.floor_finish is None and not inlay):
        return None
    return FloorTiles(
        _stock(scene, stocks, "light_tiles"),
        _stock(scene, stocks, "dark_tiles"),
        FloorWay[chosen.floor_way],
        border=chosen.floor_border,
        star=chosen.floor_star,
        play=as_typed(chosen.floor_play) if inlay else None,
    )


def _layout(scene: Scene) -> LayoutWishes:
    return LayoutWishes(
        pins=pins_of(scene),
        lasers=lasers_of_parts(scene),
        offcuts=offcuts_in(scene),
        improve=scene.stowfold.look_longer,
    )
