"""Lasers: those that come with Stowfold, the maker's own in a file beside the own stocks, and those of a scene."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from .geometry.beam.laser import Feed, Laser, Operation
from .geometry.beam.lasers import read_lasers
from .geometry.errors import BadSettingError, GeometryError
from .lengths import as_typed
from .stock_library import laser_folder

if TYPE_CHECKING:
    from bpy.types import Scene

__all__ = ["known_lasers", "laser_in", "other_lasers_in", "trouble"]

#: Name of the maker's file; written by hand, in the form of the one that comes with Stowfold.
_FILE = "lasers.toml"

_read: dict[str, object] = {}


def known_lasers() -> dict[str, Laser]:
    """Return all lasers by name; one of the maker's own takes the place of a packaged one of its name."""
    path = laser_folder() / _FILE
    stamp = path.stat().st_mtime_ns if path.is_file() else None
    if _read.get("stamp") != (str(path), stamp) or "lasers" not in _read:
        found = {laser.name: laser for laser in read_lasers()}
        said = None
        if stamp is not None:
            try:
                found |= {laser.name: laser for laser in read_lasers(path)}
            except GeometryError as error:
                said = str(error)
        _read.update(stamp=(str(path), stamp), lasers=found, trouble=said)
    lasers: dict[str, Laser] = _read["lasers"]  # type: ignore[assignment]
    return lasers


def trouble() -> str | None:
    """Return why the maker's own lasers cannot be read, or None."""
    known_lasers()
    said: str | None = _read.get("trouble")  # type: ignore[assignment]
    return said


def laser_in(scene: Scene) -> Laser:
    """Return the laser as the scene's fields say, with colours and travel of the known one that it was taken from."""
    chosen = scene.stowfold.laser
    known = known_lasers().get(chosen.profile, Laser())
    pierce, passes = as_typed(chosen.pierce), chosen.passes
    return replace(
        known,
        bed=(as_typed(chosen.bed_width), as_typed(chosen.bed_depth)),
        margin=as_typed(chosen.margin),
        spacing=as_typed(chosen.spacing),
        kerf=as_typed(chosen.own_kerf) or None,
        holds=chosen.holds,
        hold_length=as_typed(chosen.hold_length),
        feeds={
            Operation.ENGRAVE: replace(known.feeds[Operation.ENGRAVE], speed=as_typed(chosen.engrave_speed)),
            Operation.SCORE: replace(known.feeds[Operation.SCORE], speed=as_typed(chosen.score_speed)),
            Operation.SLITS: Feed(as_typed(chosen.slit_speed), pierce, passes),
            Operation.INNER: Feed(as_typed(chosen.cut_speed), pierce, passes),
            Operation.OUTER: Feed(as_typed(chosen.cut_speed), pierce, passes),
        },
    )


def other_lasers_in(scene: Scene) -> tuple[Laser, ...]:
    """Return the lasers for what is too large for the first; raise BadSettingError where one is not known any more."""
    known = known_lasers()
    for each in scene.stowfold.other_lasers:
        if each.name not in known:
            raise BadSettingError(f"The laser '{each.name}' is not known any more; take it out of the other lasers")
    return tuple(known[each.name] for each in scene.stowfold.other_lasers)
