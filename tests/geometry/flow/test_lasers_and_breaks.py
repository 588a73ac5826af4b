"""A wall that is too long for the laser: another laser takes it, or breaks are named that part it."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity, worst
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.paper.report import build_report
from stowfold.geometry.part import PartKind
from stowfold.geometry.solid.solid import Role, Solid, make_solid

BOARD = replace(find_stock("birch-plywood-3", read_stocks()), sheet=(1200.0, 600.0))
SETTINGS = Settings(BOARD, BOARD, BOARD, BOARD, laser=Laser(name="bench", label="bench laser", bed=(400.0, 300.0)))
HALL = Laser(name="hall", label="hall laser", bed=(1200.0, 600.0))


def lock_wall(breaks: tuple[float, ...] = (115.0,)) -> Solid:
    """Walls of 230 x 150 mm, 62 high, that bend at four corners; the first wall is parted at ``breaks`` along it."""
    low = [(0.0, 0.0), *((x, 0.0) for x in breaks), (230.0, 0.0), (230.0, 150.0), (0.0, 150.0)]
    points = np.array([(x, y, z) for z in (0.0, 62.0) for x, y in low])
    count = len(low)
    faces = [(i, (i + 1) % count, (i + 1) % count + count, i + count) for i in range(count)]
    bends = [0, *range(1 + len(breaks), count)]
    roles = {(i, i + count): Role.FLEX for i in bends}
    roles |= {(i + 1, i + 1 + count): Role.BREAK for i in range(len(breaks))}
    return make_solid(points, faces, roles=roles)


def test_one_break_makes_a_section_that_only_the_large_laser_takes():
    alone = run(lock_wall(), SETTINGS, title="Lock wall")
    assert worst(alone.findings) is Severity.ERROR
    both = run(lock_wall(), replace(SETTINGS, other_lasers=(HALL,)), title="Lock wall")
    assert worst(both.findings) is not Severity.ERROR and both.proof.holds
    on = {placement.part: both.layout.sheets[placement.sheet].laser.name for placement in both.layout.placements}
    (wall,) = [part.id for part in both.parts if part.kind is PartKind.WALL]
    assert on[wall] == "hall"
    assert sorted(finding.where.part for finding in both.findings if finding.code == "part-on-other-laser") == sorted(
        part for part, name in on.items() if name == "hall" and part == wall
    )
    report = build_report(both)
    assert {sheet["laser"] for sheet in report["layout"]["sheets"]} == set(on.values())
    assert sum(sheet["time_s"]["total"] for sheet in report["layout"]["sheets"]) == report["time_s"]["total"]


@pytest.mark.slow
def test_the_breaks_named_part_the_wall_so_that_it_fits():
    """What the notes say is done by hand, with nothing else changed: then every part fits."""
    alone = run(lock_wall(), SETTINGS, title="Lock wall")
    (note,) = [finding for finding in alone.findings if finding.code == "break-would-help"]
    place = note.where.point
    # it lies opposite the break that is there, on the back wall
    assert place is not None and 30 < place[0] < 200 and abs(place[1] - 150.0) < 1e-9
    from_one, from_other = map(float, re.findall(r"(\d+) mm from", note.message))
    assert from_one + from_other == 230 and min(abs(place[0] - start) for start in (from_one, from_other)) <= 0.5

    low = [(0.0, 0.0), (115.0, 0.0), (230.0, 0.0), (230.0, 150.0), (place[0], 150.0), (0.0, 150.0)]
    points = np.array([(x, y, z) for z in (0.0, 62.0) for x, y in low])
    faces = [(i, (i + 1) % 6, (i + 1) % 6 + 6, i + 6) for i in range(6)]
    roles = {(i, i + 6): Role.BREAK if i in (1, 4) else Role.FLEX for i in range(6)}
    parted = run(make_solid(points, faces, roles=roles), SETTINGS, title="Lock wall")
    assert worst(parted.findings) is not Severity.ERROR
    assert not [found for found in parted.findings if found.code == "break-would-help"]


@pytest.mark.slow
def test_a_ring_without_breaks_is_told_where_they_would_help():
    ring = run(lock_wall(()), SETTINGS, title="Lock wall")
    assert "flex-loop-without-break" in {finding.code for finding in ring.findings}
    assert len([finding for finding in ring.findings if finding.code == "break-would-help"]) == 2
    proposed = run(lock_wall(()), replace(SETTINGS, propose=Proposal.BREAKS), title="Lock wall")
    assert not [found for found in proposed.findings if found.code == "break-would-help"]
    # a larger laser beside it takes longer sections, so fewer breaks are proposed
    count = {
        len(lasers): len(
            run(lock_wall(()), replace(SETTINGS, propose=Proposal.BREAKS, other_lasers=lasers), title="x").joiners
        )
        for lasers in ((), (HALL,))
    }
    assert count == {0: 2, 1: 1}
