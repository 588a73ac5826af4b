"""In how many builds of real boards every joint goes together, for five boards and three samples, as a table.

    python tests/sweep/fit_boards.py

With nothing measured, and with thickness and kerf measured with a coupon that finds the catalogue's values: slots and
bends are then drawn again for what is left of their ranges. Weakest: the kind of joint that fails most often.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "shared"))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "blend_samples"))

from sample_solids import NAMES, solid_of
from stowfold.geometry.board.calibration import Calibration, calibrated
from stowfold.geometry.board.stock import Stock, read_stocks
from stowfold.geometry.fit.assess import Fit
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings

__all__ = ["main"]


def _made(name: str, stock: Stock) -> Outcome:
    return run(solid_of(name), Settings(stock, stock, stock, stock), title=name)


def _words(fit: Fit) -> str:
    """Return the share of builds, and the weakest kind of joint."""
    assert fit.share is not None
    kind, share = min(fit.kinds, key=lambda entry: entry[1])
    return f"{100 * fit.share:.2f} | {kind.value} {100 * share:.2f}"


def main() -> int:
    """Print the table; return 1 where fewer than 95 of 100 builds of a sample go together."""
    print("| board | sample | nothing measured | weakest | coupon | weakest | laser minutes |")
    print("|---|---|---|---|---|---|---|")
    low = False
    for stock in read_stocks():
        known = calibrated(stock, Calibration("2026-11-27", "1", thickness=stock.thickness, kerf=stock.kerf))
        for name in NAMES:
            before, after = _made(name, stock), _made(name, known)
            low |= min(before.fit.share or 0.0, after.fit.share or 0.0) < 0.95
            times = " and ".join(f"{times.seconds['total'] / 60:.1f}" for times in (before, after))
            print(f"| {stock.label} | {name} | {_words(before.fit)} | {_words(after.fit)} | {times} |", flush=True)
    return int(low)


if __name__ == "__main__":
    raise SystemExit(main())
