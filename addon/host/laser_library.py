"""Lasers: those that come with Stowfold, the maker's own in a file beside the own stocks, and those of a scene."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from ..geometry.beam.laser import Feed, Laser, Operation
from ..geometry.beam.lasers import check_laser, read_lasers, read_own_lasers, write_own_lasers
from ..geometry.errors import BadSettingError
from .lengths import as_typed
from .own_list import OwnList
from .stock_library import laser_folder

if TYPE_CHECKING:
    from bpy.types import Scene

__all__ = ["keep", "known_lasers", "laser_in", "other_lasers_in", "own_lasers", "remove", "trouble"]

#: The maker's own, written by us or by hand in the form of the file that comes with Stowfold.
_OWN: OwnList[tuple[Laser, ...]] = OwnList("lasers.toml", read_own_lasers, write_own_lasers, (), laser_folder)

_PACKAGED = {laser.name: laser for laser in read_lasers()}


def known_lasers() -> dict[str, Laser]:
    """Return all lasers by name; one of the maker's own takes the place of a packaged one of its name."""
    return _PACKAGED | own_lasers()


def own_lasers() -> dict[str, Laser]:
    """Return the maker's own lasers by name."""
    return {laser.name: laser for laser in _OWN.value}


def trouble() -> str | None:
    """Return why the maker's own lasers cannot be read, or None."""
    return _OWN.trouble


def keep(laser: Laser) -> None:
    """Write a laser into the maker's list, in the place of its namesake.

    Raises BadSettingError for what no laser can be, UnreadableError where the file is torn (it is left as it is)
    or cannot be written.
    """
    check_laser(laser)
    _OWN.change(lambda own: (*(known for known in own if known.name != laser.name), laser))


def remove(name: str) -> None:
    """Take a laser out of the maker's list. Raises as ``keep`` does, and where it is not in it."""
    if name not in own_lasers():
        raise BadSettingError(f"There is no laser of your own named {name!r}.")
    _OWN.change(lambda own: tuple(known for known in own if known.name != name))


def laser_in(scene: Scene) -> Laser:
    """Return the laser as the scene's fields say, with the travel of the known one that it was taken from."""
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
        colours={operation: _hex_of(getattr(chosen, f"{operation.value}_colour")) for operation in Operation},
        feeds={
            Operation.FILL: replace(known.feeds[Operation.FILL], speed=as_typed(chosen.fill_speed)),
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
    for laser in scene.stowfold.other_lasers:
        if laser.name not in known:
            raise BadSettingError(f"The laser '{laser.name}' is not known any more; take it out of the other lasers")
    return tuple(known[laser.name] for laser in scene.stowfold.other_lasers)


def _hex_of(colour: Iterable[float]) -> str:
    """Return a colour of red, green and blue from 0 to 1 as files spell it, such as #2a9d8f."""
    return "#" + "".join(f"{round(255 * share):02x}" for share in colour)
