"""The command line: the same flow without a window.

``stowfold cut FILE.blend -o DIR``, ``stowfold check FILE.blend`` and ``stowfold coupon STOCK|FILE.blend -o DIR``;
inside Blender the same words after ``blender --command``. Exit codes: 0 done, 1 findings of severity
error, 2 cannot go on (one sentence on standard error); as a shell counts them 130 where Ctrl C and 143
where a request to end stopped the work, 141 where the reader of standard output went away. The maker's
file is only read, and no script in it is run.
"""

from __future__ import annotations

import argparse
import datetime
import io
import os
import sys
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, redirect_stderr, redirect_stdout, suppress
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

from .geometry.errors import BadSettingError, GeometryError, UnreadableError
from .streams import Stopped, fill_streams, forget_output, stoppable, stopped_later, write_to_node

if TYPE_CHECKING:
    from .geometry.flow.recut import Recut
    from .geometry.outcome import Outcome, Settings
    from .geometry.sheet.coupon import Coupon
    from .geometry.sheet.quick_coupon import QuickCoupon
    from .geometry.solid.solid import Solid

__all__ = ["main", "run_in_blender"]

_DONE, _ERRORS, _CANNOT = 0, 1, 2

#: 128 + 13, what a shell says of a program whose reader went away (SIGPIPE).
_NO_READER = 141

#: What a bare Debian 12 lacks for the host's module.
_DEBIAN = "libx11-6 libsm6 libxext6 libgl1 libegl1 libxt6 libxkbcommon0 libxrender1 libxi6 libxfixes3"

#: A plain file, a gzip file (before 3.0) and a Zstandard file (since 3.0).
_MAGIC = (b"BLENDER", b"\x1f\x8b", b"\x28\xb5\x2f\xfd")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the console script and return its exit code."""
    return _run("stowfold", sys.argv[1:] if arguments is None else arguments)


def run_in_blender(arguments: Sequence[str]) -> int:
    """Run what follows ``blender --command stowfold`` and return its exit code."""
    return _run("blender --command stowfold", arguments)


_commands: list[object] = []


def attach() -> None:
    """Make the verbs known to Blender's own command line."""
    import bpy

    _commands.append(bpy.utils.register_cli_command("stowfold", run_in_blender))


def detach() -> None:
    """Take them back."""
    import bpy

    while _commands:
        bpy.utils.unregister_cli_command(_commands.pop())


def _run(program: str, arguments: Sequence[str]) -> int:
    fill_streams()
    try:
        with stoppable():
            code = _run_verb(program, arguments)
            sys.stdout.flush()
            return code
    except GeometryError as error:
        return _refused(str(error))
    except Stopped as stopped:
        _refused("Stopped before the end; no set of files was left half-written")
        return stopped.exit_code
    except BrokenPipeError:
        forget_output()
        return _NO_READER
    except OSError as error:
        forget_output()
        name = f" '{error.filename}'" if error.filename else ""
        return _refused(f"Reading or writing{name} failed ({error.strerror or error}); see to it and try again")
    except Exception:  # a fault of ours must not look like findings, which exit code 1 means
        traceback.print_exc()
        return _refused("This is a fault of Stowfold; please report it with the lines above and your file")


def _run_verb(program: str, arguments: Sequence[str]) -> int:
    try:
        options = _parser(program).parse_args(list(arguments))
    except SystemExit as stopped:  # argparse has said why, or shown the help
        return stopped.code if isinstance(stopped.code, int) else _CANNOT
    code: int = options.verb(options)
    return code


def _refused(sentence: str) -> int:
    """Say on standard error why the work cannot go on; return the exit code for it."""
    with suppress(OSError):  # standard error may be closed as well
        print(f"stowfold: {sentence}", file=sys.stderr, flush=True)
    return _CANNOT


def _parser(program: str) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog=program,
        description="Turn a marked block-out into boards that are cut flat and fold up by hand.",
        epilog="Exit codes: 0 done, 1 findings of severity error, 2 cannot go on; 130, 143 stopped (Ctrl C, request "
        "to end), 141 the reader of the output is gone.",
    )
    common = argparse.ArgumentParser(add_help=False)
    common.add_argument("file", metavar="FILE.blend", type=Path, help="the file with the block-out; it is only read")
    common.add_argument(
        "--object",
        metavar="NAME",
        action="append",
        default=[],
        help="block-out to take, may be repeated (default: the objects marked as one, or the only mesh)",
    )
    common.add_argument("--stock", metavar="NAME", help="board for all parts (default: what the file says)")
    common.add_argument(
        "--propose",
        choices=("net", "breaks", "all"),
        help="fill in what is unmarked: which edges flex (net), where walls part (breaks); the file stays as it is",
    )
    common.add_argument("--play-mat", action="store_true", help="no floor and no tabs: the building stands on a mat")

    verbs = parser.add_subparsers(title="verbs", metavar="VERB", required=True)
    cut = verbs.add_parser(
        "cut", parents=[common], help="write sheets as SVG, report.json and guide.html", description=_cut.__doc__
    )
    cut.add_argument("-o", "--output", metavar="DIR", type=Path, required=True, help="folder for the files")
    cut.add_argument("--anyway", action="store_true", help="write sheets in spite of findings of severity error")
    cut.add_argument("--coupon", action="store_true", help="write the building's quick coupon beside the sheets")
    cut.add_argument(
        "--standing",
        metavar="LENGTHxWIDTH",
        help="cut the floor alone again, for walls that measure this over all once put up, in mm",
    )
    cut.add_argument(
        "--only",
        metavar="PARTS",
        help="cut these parts alone again, ids with commas between (W1,J2-core); all else in DIR stays",
    )
    cut.set_defaults(verb=_cut)
    check = verbs.add_parser("check", parents=[common], help="list findings and proof", description=_check.__doc__)
    check.add_argument("--json", metavar="PATH", type=Path, help="also write the report to this file")
    check.set_defaults(verb=_check)
    coupon = verbs.add_parser(
        "coupon",
        help="write test pieces for a stock or a building, and a page to fill in",
        description=_coupon.__doc__,
    )
    coupon.add_argument(
        "stock",
        metavar="STOCK|FILE.blend",
        help="board to test, packaged or your own, for its strength; or a building, for a test-fit of ten minutes",
    )
    coupon.add_argument(
        "--object", metavar="NAME", action="append", default=[], help="block-out of the building, may be repeated"
    )
    coupon.add_argument("-o", "--output", metavar="DIR", type=Path, required=True, help="folder for the files")
    coupon.add_argument("--repeats", metavar="N", type=int, default=1, help="how many of each hinge (default: 1)")
    coupon.add_argument(
        "--bed", metavar="MM", type=float, nargs=2, help="width and depth of the laser's bed (default: 600 300)"
    )
    coupon.add_argument(
        "--stock-folder", metavar="DIR", type=Path, help="folder of your own stocks (default: where they are kept)"
    )
    coupon.set_defaults(verb=_coupon)
    return parser


def _cut(options: argparse.Namespace) -> int:
    """Write the sheets as SVG, report.json and guide.html; with an error, sheets only with --anyway."""
    from .geometry.flow.deliver import deliver
    from .proof.summary import delivery_lines

    _check_folder(options.output)
    if options.standing is not None and options.only is not None:
        raise BadSettingError("The floor for measured walls is cut by itself; give --standing or --only, not both")
    if options.standing is not None:
        return _cut_floor(options)
    if options.only is not None:
        return _cut_parts(options)
    outcome = _make(options)
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
    from .geometry.files import undo_unfinished

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
    from .geometry.flow.recut import deliver_again
    from .geometry.flow.recut_floor import drawn_size, floor_again
    from .proof.summary import floor_lines

    standing = _read_standing(options.standing)
    outcome = _make(options)
    again = floor_again(outcome, standing)
    before = _names_before(options.output)
    written = deliver_again(again, options.output, date=datetime.date.today().isoformat())
    print("\n".join(floor_lines(again, drawn_size(outcome), written)))
    _say_replaced(before, options.output, written)
    return _ERRORS if not written else _DONE


def _cut_parts(options: argparse.Namespace) -> int:
    from .geometry.flow.recut import deliver_again
    from .geometry.flow.recut_parts import cut_again
    from .proof.summary import again_lines

    ids = [each.strip() for each in options.only.split(",")]
    again = cut_again(_make(options), [number for number in ids if number])
    before = _names_before(options.output)
    written = deliver_again(again, options.output, anyway=options.anyway, date=datetime.date.today().isoformat())
    print("\n".join(again_lines(again, written)))
    _say_replaced(before, options.output, written)
    return _exit_code(again)


def _read_standing(text: str) -> tuple[float, float]:
    try:
        length, width = (float(each) for each in text.lower().split("x"))
    except ValueError:
        raise BadSettingError(f"'{text}' is no size; give length and width in mm, like 240.4x165.2") from None
    return length, width


def _check(options: argparse.Namespace) -> int:
    """List what the maker should know about the building, and how exactly its flat parts fold back."""
    from .proof.summary import check_lines

    outcome = _make(options)
    print("\n".join(check_lines(outcome)))
    if options.json is not None:
        _write_report(outcome, options.json)
    return _exit_code(outcome)


def _coupon(options: argparse.Namespace) -> int:
    """Write cut files of test pieces and a page to fill in: of a building its quick coupon, of a stock the large one.

    For a stock Blender itself is not needed.
    """
    from .geometry.beam.laser import Laser
    from .geometry.board.stock import find_stock
    from .geometry.paper.coupon_sheet import deliver_coupon
    from .geometry.sheet.coupon import lay_out_coupon
    from .host import stock_library

    _check_folder(options.output)
    if options.stock.lower().endswith(".blend"):
        return _quick_coupon(options)
    if options.object:
        raise BadSettingError("--object names a block-out of a building; give its file instead of a board")
    if options.stock_folder is not None:
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
    from .geometry.paper.quick_page import deliver_quick_coupon, make_quick_coupon

    if options.repeats != 1 or options.bed is not None:
        raise BadSettingError("A quick coupon has one piece of a kind and the file's own laser; leave out the options")
    whole = argparse.Namespace(
        file=Path(options.stock), object=options.object, stock=None, propose=None, play_mat=False
    )
    outcome = _make(whole)
    coupon = make_quick_coupon(outcome)
    before = _names_before(options.output)
    written = deliver_quick_coupon(coupon, outcome, options.output, date=datetime.date.today().isoformat())
    print("\n".join(map(str, written)))
    print(f"  {coupon.seconds / 60.0:.1f} minutes of laser")
    for words in coupon.left_out:
        print(f"  without {words}: no room or time was left for it")
    _say_replaced(before, options.output, written)
    return _exit_code(coupon)


def _exit_code(outcome: Outcome | Recut | Coupon | QuickCoupon) -> int:
    from .geometry.findings import Severity, worst

    return _ERRORS if worst(outcome.findings) is Severity.ERROR else _DONE


def _write_report(outcome: Outcome, path: Path) -> None:
    """Write the report of a check to a file of the maker's choice, whole or not at all, or into a device or pipe."""
    from .geometry.files import replace_files
    from .geometry.paper.report import build_report, dump_report

    text = dump_report(build_report(outcome))
    if write_to_node(path, text):
        return
    replaced = path.exists()
    replace_files(path.absolute().parent, {path.name: text})
    if replaced:
        print(f"  replaced what lay there before: {path.name}")


def _check_folder(folder: Path) -> None:
    """Raise UnreadableError before any work where the folder cannot take files."""
    try:
        existing = next(each for each in (folder, *folder.absolute().parents) if each.exists())
    except OSError as error:
        raise UnreadableError(f"'{folder}' cannot be a folder here ({error.strerror}); choose another name") from None
    if not existing.is_dir():
        raise UnreadableError(f"'{existing}' is a file, not a folder; choose another place for the cut files")
    if not os.access(existing, os.W_OK):
        raise UnreadableError(f"The folder '{existing}' cannot be written; choose another place for the cut files")


def _make(options: argparse.Namespace) -> Outcome:
    """Open the file, run the flow, and judge it from the seats that stand in the file."""
    from .geometry.flow.run import run

    with stopped_later():
        solid, settings, title = _read(options)
    outcome = run(solid, settings, title=title)
    import bpy

    from .geometry.flow.judge import judge
    from .host.people import STATURES
    from .host.table import read_seated

    return judge(outcome, read_seated(bpy.context.scene), STATURES)


def _read(options: argparse.Namespace) -> tuple[Solid, Settings, str]:
    check_blend_file(options.file)
    bpy = _host()
    from .host import reading

    _open(bpy, options.file)
    scene = bpy.context.scene
    bpy.context.view_layer.update()
    objects = reading.find_block_out(scene, options.object)
    solid = reading.read_solid(objects, scene)
    return solid, _with_options(reading.read_settings(scene), options), reading.title_of(objects)


def _with_options(settings: Settings, options: argparse.Namespace) -> Settings:
    """Return the file's settings with what the command line says instead."""
    from .geometry.board.stock import find_stock
    from .geometry.outcome import Proposal
    from .host import stock_library

    if options.stock is not None:
        stock = find_stock(options.stock, (entry.stock for entry in stock_library.entries().values()))
        settings = replace(settings, walls=stock, roof=stock, floor=stock, joiners=stock)
    if options.propose is not None:
        settings = replace(settings, propose=Proposal(options.propose))
    if options.play_mat:
        settings = replace(settings, ground=replace(settings.ground, wanted=False))
    return settings


def check_blend_file(path: Path) -> None:
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
        from . import registration

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
