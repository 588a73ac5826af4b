"""Verbs: what ``cut``, ``check`` and ``coupon`` do, each from its options to its exit code."""

from __future__ import annotations

import argparse
import datetime
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ..geometry.durations import about
from ..geometry.errors import BadSettingError, UnreadableError
from ..streams import is_node, write_to_node
from .opening import make_outcome

if TYPE_CHECKING:
    from ..geometry.flow.recut import Recut
    from ..geometry.outcome import Outcome
    from ..geometry.sheet.coupon import Coupon
    from ..geometry.sheet.quick_coupon import QuickCoupon

__all__ = ["CANNOT", "check", "coupon", "cut"]

_DONE, _ERRORS, CANNOT = 0, 1, 2


def cut(options: argparse.Namespace) -> int:
    """Write the sheets as SVG, report.json and guide.html; with an error, sheets only with --anyway."""
    from ..geometry.flow.deliver import deliver
    from ..proof.summary import delivery_lines

    _check_folder(options.output)
    if options.standing is not None and options.only is not None:
        raise BadSettingError("The floor for measured walls is cut by itself; give --standing or --only, not both")
    if options.standing is not None:
        return _cut_floor(options)
    if options.only is not None:
        return _cut_parts(options)
    outcome = make_outcome(options)
    before = _names_before(options.output)
    written = deliver(
        outcome,
        options.output,
        anyway=options.anyway,
        coupon=options.coupon,
        date=datetime.date.today().isoformat(),
    )
    print("\n".join(delivery_lines(outcome, written)))
    _say_replaced(before, options.output, written)
    return _exit_code(outcome)


def _names_before(folder: Path) -> frozenset[str]:
    """Return what lies in a folder before files are delivered, once what a killed export left there is undone."""
    from ..geometry.files import undo_unfinished

    if undo_unfinished(folder):
        print(
            f"The files in {folder} were of two exports, since one was stopped midway; "
            "the earlier files were put back before these were written"
        )
    return _names(folder)


def _names(folder: Path) -> frozenset[str]:
    """Return the names of all that lies in a folder, none where there is no such folder."""
    return frozenset(path.name for path in folder.iterdir()) if folder.is_dir() else frozenset()


def _say_replaced(before: frozenset[str], folder: Path, written: Sequence[Path]) -> None:
    """Tell which earlier files are not as they were: nothing is replaced or taken away silently."""
    replaced = sorted(before & {path.name for path in written})
    if replaced:
        print(f"  replaced what lay there before: {', '.join(replaced)}")
    gone = sorted(before - _names(folder))
    if gone:
        print(f"  took away untouched sheets of an earlier run: {', '.join(gone)}")


def _cut_floor(options: argparse.Namespace) -> int:
    from ..geometry.flow.recut import deliver_again
    from ..geometry.flow.recut_floor import again_words, drawn_size, floor_again
    from ..proof.summary import floor_lines

    standing = _read_standing(options.standing)
    outcome = make_outcome(options)
    again = floor_again(outcome, standing)
    before = _names_before(options.output)
    written = deliver_again(again, options.output, date=datetime.date.today().isoformat())
    print("\n".join(floor_lines(again, drawn_size(outcome), written)))
    if written:
        print(f"  cut again: {again_words(outcome, again)}")
    _say_replaced(before, options.output, written)
    return _ERRORS if not written else _DONE


def _cut_parts(options: argparse.Namespace) -> int:
    from ..geometry.flow.recut import deliver_again
    from ..geometry.flow.recut_parts import cut_again
    from ..proof.summary import again_lines

    ids = [name.strip() for name in options.only.split(",")]
    again = cut_again(make_outcome(options), [number for number in ids if number])
    before = _names_before(options.output)
    written = deliver_again(again, options.output, anyway=options.anyway, date=datetime.date.today().isoformat())
    print("\n".join(again_lines(again, written)))
    _say_replaced(before, options.output, written)
    return _exit_code(again)


def _read_standing(text: str) -> tuple[float, float]:
    try:
        length, width = (float(side) for side in text.lower().split("x"))
    except ValueError:
        raise BadSettingError(f"'{text}' is no size; give length and width in mm, like 240.4x165.2") from None
    return length, width


def check(options: argparse.Namespace) -> int:
    """List what the maker should know about the building, and how exactly its flat parts fold back."""
    from ..proof.summary import check_lines

    outcome = make_outcome(options)
    path: Path | None = options.json
    # a file is written before anything is printed: a reader of the first lines alone, as head is, ends the printing
    first = path is not None and not is_node(path)
    replaced = False
    try:
        replaced = path is not None and first and _write_report(outcome, path)
    finally:
        print("\n".join(check_lines(outcome)))
    if path is not None and not first:
        write_to_node(path, _report(outcome))
    if path is not None and replaced:
        print(f"  replaced what lay there before: {path.name}")
    return _exit_code(outcome)


def coupon(options: argparse.Namespace) -> int:
    """Write cut files of test pieces and a page to fill in: of a building its quick coupon, of a stock the large one.

    For a stock Blender itself is not needed.
    """
    from ..geometry.beam.laser import Laser
    from ..geometry.board.stock import find_stock
    from ..geometry.paper.coupon_sheet import deliver_coupon
    from ..geometry.sheet.coupon import lay_out_coupon
    from ..host import stock_library

    _check_folder(options.output)
    if options.stock.lower().endswith(".blend"):
        return _quick_coupon(options)
    if options.object:
        raise BadSettingError("--object names a block-out of a building; give its file instead of a board")
    if options.stock_folder is not None:
        if not options.stock_folder.is_dir():
            raise UnreadableError(f"There is no folder '{options.stock_folder}' of your own stocks; name another one")
        stock_library.use_folder(options.stock_folder)
    trouble = stock_library.trouble()
    if trouble is not None:
        print(f"stowfold: {trouble}", file=sys.stderr)
    stock = find_stock(options.stock, (entry.stock for entry in stock_library.entries().values()))
    laser = Laser() if options.bed is None else Laser(bed=tuple(options.bed))
    made = lay_out_coupon(stock, laser, repeats=options.repeats)
    before = _names_before(options.output)
    written = deliver_coupon(made, stock, options.output, date=datetime.date.today().isoformat())
    print("\n".join(map(str, written)))
    _say_replaced(before, options.output, written)
    for finding in made.findings:
        print(f"{finding.severity.value}: {finding.message}")
    return _exit_code(made)


def _quick_coupon(options: argparse.Namespace) -> int:
    """Write the quick coupon of a building."""
    from ..geometry.paper.quick_page import deliver_quick_coupon, make_quick_coupon

    if options.repeats != 1 or options.bed is not None:
        raise BadSettingError("A quick coupon has one piece of a kind and the file's own laser; leave out the options")
    whole = argparse.Namespace(
        file=Path(options.stock), object=options.object, stock=None, propose=None, play_mat=False
    )
    outcome = make_outcome(whole)
    coupon = make_quick_coupon(outcome)
    before = _names_before(options.output)
    written = deliver_quick_coupon(coupon, outcome, options.output, date=datetime.date.today().isoformat())
    print("\n".join(map(str, written)))
    print(f"  {about(coupon.seconds)} of laser")
    for words in coupon.left_out:
        print(f"  without {words}: no room or time was left for it")
    _say_replaced(before, options.output, written)
    return _exit_code(coupon)


def _exit_code(outcome: Outcome | Recut | Coupon | QuickCoupon) -> int:
    from ..geometry.findings import Severity, worst

    return _ERRORS if worst(outcome.findings) is Severity.ERROR else _DONE


def _report(outcome: Outcome) -> str:
    from ..geometry.paper.report import build_report, dump_report

    return dump_report(build_report(outcome))


def _write_report(outcome: Outcome, path: Path) -> bool:
    """Write the report of a check to a file, whole or not at all; return whether an earlier file was replaced."""
    from ..geometry.files import replace_files

    replaced = path.exists()
    replace_files(path.absolute().parent, {path.name: _report(outcome)})
    return replaced


def _check_folder(folder: Path) -> None:
    """Raise UnreadableError before any work where the folder cannot take files."""
    try:
        existing = next(above for above in (folder, *folder.absolute().parents) if above.exists())
    except OSError as error:
        raise UnreadableError(f"'{folder}' cannot be a folder here ({error.strerror}); choose another name") from None
    if not existing.is_dir():
        raise UnreadableError(f"'{existing}' is a file, not a folder; choose another place for the cut files")
    if not os.access(existing, os.W_OK):
        raise UnreadableError(f"The folder '{existing}' cannot be written; choose another place for the cut files")
