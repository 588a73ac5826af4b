"""Through the whole flow: what cannot be cut is refused in one sentence before the work begins."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Severity, worst
from stowfold.geometry.flow.deliver import deliver
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.solid.solid import Role, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
NAN, INF = float("nan"), float("inf")


def walls(scale: float = 1.0, length: float = 230.0):
    """A ring of four walls with flex corners and a break in the middle of each long one."""
    plan = [(0, 0), (length / 2, 0), (length, 0), (length, 150.0), (length / 2, 150.0), (0, 150.0)]
    points = np.array([(x, y, z) for z in (0.0, 62.0) for x, y in plan]) * scale
    faces = [(k, (k + 1) % 6, 6 + (k + 1) % 6, 6 + k) for k in range(6)]
    return make_solid(points, faces, roles={(k, k + 6): Role.BREAK if k in (1, 4) else Role.FLEX for k in range(6)})


LASERS = [
    {"bed": (0.0, 0.0)}, {"bed": (NAN, 300.0)}, {"bed": (600.0, INF)}, {"margin": -1.0}, {"margin": NAN},
    {"margin": 150.0}, {"spacing": -1.0}, {"spacing": INF}, {"kerf": 0.0}, {"kerf": NAN}, {"kerf": 3.0},
    {"travel": 0.0}, {"acceleration": 0.0}, {"feeds": {**Laser().feeds, Operation.OUTER: Feed(0.0)}},
    {"feeds": {**Laser().feeds, Operation.OUTER: Feed(6.0, passes=0)}},
]  # fmt: skip
STOCKS = [{"kerf": 0.0}, {"kerf": NAN}, {"kerf": 3.0}, {"thickness": INF}, {"sheet": (0.0, 0.0)}, {"sheet": (NAN, 1.0)}]


@pytest.mark.parametrize("changes", LASERS, ids=str)
def test_a_laser_that_cannot_be(changes):
    with pytest.raises(BadSettingError) as refusal:
        run(walls(), replace(SETTINGS, laser=replace(Laser(), **changes)), title="x")
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("changes", STOCKS, ids=str)
def test_a_board_that_cannot_be(changes):
    for kind in ("walls", "floor"):
        with pytest.raises(BadSettingError) as refusal:
            run(walls(), replace(SETTINGS, **{kind: replace(BIRCH, name="mine", **changes)}), title="x")
        assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(("scale", "size"), [(1000.0, "230000 x 150000 x 62000"), (25.4, "5842 x 3810 x 1575")])
def test_a_model_of_metres_or_of_millimetres_taken_for_squares_is_no_building_on_a_table(scale, size):
    with pytest.raises(BadSettingError, match=rf"{size} mm.*unit scale to 0\.001"):
        run(walls(scale), SETTINGS, title="x")


@pytest.mark.slow
def test_walls_longer_than_any_board_are_said_and_no_sheets_are_written(tmp_path):
    """3 m of wall with one break: 1.5 m and a corner each, far beyond sheet and bed."""
    outcome = run(walls(length=3000.0), SETTINGS, title="x")
    assert worst(outcome.findings) is Severity.ERROR
    said = [finding for finding in outcome.findings if finding.code == "part-longer-than-sheet"]
    assert len(said) >= 2 and all("mm more than a sheet" in finding.message for finding in said)
    assert sorted(path.name for path in deliver(outcome, tmp_path)) == ["guide.html", "report.json"]


@pytest.mark.slow
def test_slits_are_never_narrower_than_the_beam_that_cuts_them():
    """Whatever laser a wall goes to: its slits fit that beam, or a finding says that links come out thin."""
    fine, coarse = Laser(bed=(250.0, 200.0), kerf=0.1), Laser(name="large", label="large one", kerf=0.6)
    for lasers in ({"laser": replace(Laser(), kerf=0.6)}, {"laser": fine, "other_lasers": (coarse,)}):
        outcome = run(walls(), replace(SETTINGS, **lasers), title="x")
        kerfs = {
            placement.part: outcome.layout.sheets[placement.sheet].stock.kerf for placement in outcome.layout.placements
        }
        cut = {part.id: kerfs[part.id] for part in outcome.parts if part.lattices and part.id in kerfs}
        assert set(cut.values()) == {0.6}
        said = {finding.where.part for finding in outcome.findings if finding.code == "slit-wider-than-designed"}
        for part in outcome.parts:
            for placed in part.lattices:
                assert placed.lattice.opening >= cut[part.id] - 1e-9 or part.id in said
