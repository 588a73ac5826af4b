"""A sample as a maker would cut it, and its sheets as two readers read them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from read_sheets import Read, read_by_svgelements, read_by_svgpathtools
from sample_solids import solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.deliver import deliver
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.solid.solid import Solid


@dataclass(frozen=True)
class Delivered:
    """A sample, what came of it, and its files.

    files: names of the sheets in the order of the report; first, second: each of them as svgelements and as
    svgpathtools read it.
    """

    name: str
    solid: Solid
    outcome: Outcome
    folder: Path
    report: dict[str, Any]
    files: list[str]
    first: dict[str, Read]
    second: dict[str, Read]


def deliver_sample(name: str, folder: Path) -> Delivered:
    """Run a sample with birch plywood throughout, write its files to ``folder`` and read its sheets."""
    birch = find_stock("birch-plywood-3", read_stocks())
    solid = solid_of(name)
    outcome = run(solid, Settings(birch, birch, birch, birch), title="Sample")
    deliver(outcome, folder, date="2026-01-02")
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    files = [sheet["file"] for sheet in report["layout"]["sheets"]]
    first = {file: read_by_svgelements(folder / file) for file in files}
    second = {file: read_by_svgpathtools(folder / file) for file in files}
    return Delivered(name, solid, outcome, folder, report, files, first, second)
