"""Options: what may be said after the program's name, and what each word means."""

from __future__ import annotations

import argparse
from pathlib import Path

from . import verbs

__all__ = ["parser"]


def parser(program: str) -> argparse.ArgumentParser:
    """Return what reads the words after the program's name, with the function of every verb."""
    whole = argparse.ArgumentParser(
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
    common.add_argument(
        "--stock", metavar="NAME", help="board of walls, roof, floor and joiners (default: what the file says)"
    )
    common.add_argument(
        "--propose",
        choices=("net", "breaks", "all"),
        help="fill in what is unmarked: which edges flex (net), where walls part (breaks); the file stays as it is",
    )
    common.add_argument("--play-mat", action="store_true", help="no floor and no tabs: the building stands on a mat")

    known = whole.add_subparsers(title="verbs", metavar="VERB", required=True)
    cut = known.add_parser(
        "cut", parents=[common], help="write sheets as SVG, report.json and guide.html", description=verbs.cut.__doc__
    )
    cut.add_argument("-o", "--output", metavar="DIR", type=Path, required=True, help="folder for the files")
    cut.add_argument("--anyway", action="store_true", help="write sheets in spite of findings of severity error")
    cut.add_argument("--coupon", action="store_true", help="write the building's quick coupon beside the sheets")
    cut.add_argument(
        "--standing",
        metavar="LENGTHxWIDTH",
        help="cut the floor, and what changes on it, again for walls that measure this over all once put up, in mm",
    )
    cut.add_argument(
        "--only",
        metavar="PARTS",
        help="cut these parts alone again, ids with commas between (W1,J2-core); all else in DIR stays",
    )
    cut.set_defaults(verb=verbs.cut)
    check = known.add_parser("check", parents=[common], help="list findings and proof", description=verbs.check.__doc__)
    check.add_argument("--json", metavar="PATH", type=Path, help="also write the report to this file")
    check.set_defaults(verb=verbs.check)
    coupon = known.add_parser(
        "coupon",
        help="write test pieces for a stock or a building, and a page to fill in",
        description=verbs.coupon.__doc__,
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
    coupon.set_defaults(verb=verbs.coupon)
    return whole
