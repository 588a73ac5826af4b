"""Opening: from a Blender file and the options to the outcome of the flow, without a window."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

from ..geometry.errors import UnreadableError
from ..streams import stopped_later

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome, Settings
    from ..geometry.solid.solid import Solid

__all__ = ["make_outcome"]

#: What a bare Debian 12 lacks for the host's module.
_DEBIAN = "libx11-6 libsm6 libxext6 libgl1 libegl1 libxt6 libxkbcommon0 libxrender1 libxi6 libxfixes3"

#: A plain file, a gzip file (before 3.0) and a Zstandard file (since 3.0).
_MAGIC = (b"BLENDER", b"\x1f\x8b", b"\x28\xb5\x2f\xfd")


def make_outcome(options: argparse.Namespace) -> Outcome:
    """Open the file, run the flow, and judge it from the seats that stand in the file."""
    from ..geometry.flow.run import run

    with stopped_later():
        solid, settings, title = _read(options)
    outcome = run(solid, settings, title=title)
    import bpy

    from ..geometry.flow.judge import judge
    from ..host.people import STATURES
    from ..host.table import read_seated

    return judge(outcome, read_seated(bpy.context.scene), STATURES)


def _read(options: argparse.Namespace) -> tuple[Solid, Settings, str]:
    _check_blend_file(options.file)
    bpy = _host()
    from ..host import reading

    _open(bpy, options.file)
    scene = bpy.context.scene
    bpy.context.view_layer.update()
    objects = reading.find_block_out(scene, options.object)
    solid = reading.read_solid(objects, scene)
    return solid, _with_options(reading.read_settings(scene), options), reading.title_of(objects)


def _with_options(settings: Settings, options: argparse.Namespace) -> Settings:
    """Return the file's settings with what the command line says instead."""
    from ..geometry.board.stock import find_stock
    from ..geometry.outcome import Proposal
    from ..host import stock_library

    if options.stock is not None:
        stock = find_stock(options.stock, (entry.stock for entry in stock_library.entries().values()))
        settings = replace(settings, walls=stock, roof=stock, floor=stock, joiners=stock)
    if options.propose is not None:
        settings = replace(settings, propose=Proposal(options.propose))
    if options.play_mat:
        settings = replace(settings, ground=replace(settings.ground, wanted=False))
    return settings


def _check_blend_file(path: Path) -> None:
    """Raise UnreadableError where the path is no Blender file by its first bytes."""
    try:
        if not path.exists():
            raise UnreadableError(f"There is no file '{path}'")
        if path.is_dir():
            raise UnreadableError(f"'{path}' is a folder, not a Blender file")
        with path.open("rb") as file:
            start = file.read(8)
    except OSError as error:
        raise UnreadableError(f"The file '{path}' cannot be read ({error.strerror})") from None
    if not start.startswith(_MAGIC):
        raise UnreadableError(f"'{path}' is not a Blender file")


def _host() -> ModuleType:
    """Return Blender's module with our properties on it; raise UnreadableError with what to install."""
    try:
        # the module greets some machines with remarks of its own
        with _hushed():
            import bpy
    except ModuleNotFoundError as error:
        if error.name != "bpy":
            raise
        raise UnreadableError(
            "Blender's Python module is missing; install it with: pip install 'stowfold[host]'"
        ) from None
    except ImportError as error:
        raise UnreadableError(
            f"Blender's Python module lacks a system library ({error}); on Debian: apt-get install {_DEBIAN}"
        ) from None
    if not hasattr(bpy.types.Scene, "stowfold"):
        from .. import registration

        registration.register()
    return bpy


def _open(bpy: ModuleType, path: Path) -> None:
    try:
        with _hushed():
            bpy.ops.wm.open_mainfile(filepath=str(path.absolute()), load_ui=False, use_scripts=False)
    except RuntimeError:
        raise UnreadableError(f"Blender cannot read '{path}': it is torn, or was saved by a newer Blender") from None


@contextmanager
def _hushed() -> Iterator[None]:
    """Keep what the host itself prints, below Python, away from our output."""
    sys.stdout.flush()
    sys.stderr.flush()
    kept = [os.dup(1), os.dup(2)]
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        # a caller may have put something else in their places than files 1 and 2
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            yield
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        for target, saved in zip((1, 2), kept, strict=True):
            os.dup2(saved, target)
            os.close(saved)
        os.close(nowhere)
