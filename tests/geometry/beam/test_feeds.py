"""Feeds follow from a log of times as scipy minimises the same misses, and predict new sheets better than before."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import lstsq
from scipy.optimize import minimize, nnls
from scipy.special import huber
from slow_cases import one_quick
from stowfold.geometry.beam.feeds import SCATTER, TimedJob, Work, expected_seconds, fit_feeds
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.errors import BadSettingError

ENGRAVE, SLITS, INNER, OUTER = Operation.ENGRAVE, Operation.SLITS, Operation.INNER, Operation.OUTER
LASER = Laser()

#: Lengths per operation, mm: a sheet of walls, as the samples have it, and one that is mostly floor.
WALLS = {ENGRAVE: 2500.0, SLITS: 10000.0, INNER: 700.0, OUTER: 4000.0}
FLOOR = {ENGRAVE: 5000.0, INNER: 1500.0, OUTER: 1200.0}


def seconds(work, feeds, acceleration=1000.0):
    """Time by the words of the model: length over speed, a ramp for each piece, a pierce for each line."""
    return sum(
        feeds[name].passes
        * (
            task.length / feeds[name].speed
            + task.pieces * feeds[name].speed / acceleration
            + task.short
            + task.pierces * feeds[name].pierce
        )
        for name, task in work.items()
    )


def make_sheet(rng, lengths=WALLS):
    """A sheet of some size; what it asks for is mixed in nearly the same proportion as on any other."""
    size, work = rng.lognormal(0.0, 0.4), {}
    for operation, length in lengths.items():
        length *= size * rng.lognormal(0.0, 0.12)
        lines = int(length / (90.0 if operation is SLITS else 300.0)) + 1
        work[operation] = Work(length, int(length / 20.0), lines, 0.01 * lines)
    return work


def make_truth(rng):
    """Feeds of a laser that nobody has measured: all cuts quicker or slower, slits and outlines a little apart."""
    every, pierce = rng.lognormal(0.0, 0.4), 0.1 * rng.lognormal(0.0, 0.4)
    slower = {ENGRAVE: rng.lognormal(0.0, 0.4), SLITS: every * rng.lognormal(0.0, 0.12)}
    slower[INNER] = slower[OUTER] = every * rng.lognormal(0.0, 0.12)
    return {
        operation: Feed(feed.speed / slower.get(operation, 1.0), pierce if feed.pierce else 0.0)
        for operation, feed in LASER.feeds.items()
    }


def make_log(rng, feeds, count, noise=0.05):
    sheets = [make_sheet(rng) for _ in range(count)]
    return [TimedJob(work, (seconds(work, feeds) + 30.0) * (1 + noise * rng.normal()), 30.0) for work in sheets]


def change_of(feeds):
    """Changes of slowness and pierce as shares: engraving, slits, outlines, pierce."""
    slow = [LASER.feeds[operation].speed / feeds[operation].speed - 1.0 for operation in (ENGRAVE, SLITS, OUTER)]
    return np.array([*slow, feeds[OUTER].pierce / LASER.feeds[OUTER].pierce - 1.0])


def feeds_after(change):
    feeds = dict(LASER.feeds)
    for operation, share in zip((ENGRAVE, SLITS, INNER, OUTER), change[[0, 1, 2, 2]], strict=True):
        pierce = feeds[operation].pierce * (1.0 + change[3])
        feeds[operation] = replace(feeds[operation], speed=feeds[operation].speed / (1.0 + share), pierce=pierce)
    return feeds


#: The covariance of changes as the module states it: 0.7 together, 0.15 apart, 0.5 for the pierce.
PRIOR = np.diag([0.7**2 + 0.15**2] * 3 + [0.5**2])
PRIOR[1, 2] = PRIOR[2, 1] = 0.7**2


def test_the_expected_time_is_that_of_the_words():
    rng = np.random.default_rng(1)
    job = TimedJob(make_sheet(rng), 1.0, 30.0)
    assert expected_seconds(job, LASER) == pytest.approx(seconds(job.work, LASER.feeds) + 30.0)
    twice = replace(LASER, feeds={operation: replace(feed, passes=2) for operation, feed in LASER.feeds.items()})
    assert expected_seconds(job, twice) == pytest.approx(2 * seconds(job.work, LASER.feeds) + 30.0)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("count", one_quick([1, 3, 10]))
def test_the_feeds_are_those_that_scipy_finds_by_minimising_the_same_misses(seed, count):
    rng = np.random.default_rng(seed)
    log = make_log(rng, make_truth(rng), count)
    fit = fit_feeds(log, LASER)
    whole = np.array([seconds(job.work, LASER.feeds) + 30.0 for job in log])
    noted = np.array([job.seconds for job in log])
    scale = fit.scatter * whole * np.median(noted / whole)

    def misses(change):
        return (noted - [seconds(job.work, feeds_after(change)) + 30.0 for job in log]) / scale

    def cost(change):
        return huber(3.0, misses(change)).sum() + change @ np.linalg.solve(PRIOR, change) / 2

    # speeds far beyond any laser are all ramp; a search that strays there finds a hollow of its own
    best = minimize(cost, np.zeros(4), method="L-BFGS-B", bounds=[(-0.7, 4.0)] * 4, options={"ftol": 1e-14})
    assert cost(change_of(fit.feeds)) <= best.fun + 1e-6
    assert change_of(fit.feeds) == pytest.approx(best.x, abs=2e-3)
    assert fit.feeds[INNER] == fit.feeds[OUTER]
    assert fit.feeds[Operation.SCORE] == LASER.feeds[Operation.SCORE]


def test_without_ramps_it_is_the_ridge_of_the_textbooks():
    """Hoerl and Kennard's ridge is least squares with rows added; scipy solves those, numpy inverts its covariance."""
    rng = np.random.default_rng(7)
    rigid = replace(LASER, acceleration=1e12)
    truth = make_truth(rng)
    sheets = [make_sheet(rng) for _ in range(6)]
    log = [TimedJob(w, seconds(w, truth, 1e12) * (1 + 0.02 * rng.normal())) for w in sheets]
    fit = fit_feeds(log, rigid)
    assert fit.scatter == SCATTER and fit.slips == ()
    through = (SLITS, INNER, OUTER)
    rows = np.array([
        [
            work[ENGRAVE].length / 60.0,
            work[SLITS].length / 6.0,
            (work[INNER].length + work[OUTER].length) / 6.0,
            0.1 * sum(work[operation].pierces for operation in through),
        ]
        for work in sheets
    ])  # fmt: skip
    whole = np.array([seconds(work, LASER.feeds, 1e12) for work in sheets])
    noted = np.array([job.seconds for job in log])
    scale = SCATTER * whole * np.median(noted / whole)
    root = np.linalg.cholesky(np.linalg.inv(PRIOR)).T
    augmented = np.vstack([rows / scale[:, None], root])
    change = lstsq(augmented, np.concatenate([(noted - whole) / scale, np.zeros(4)]))[0]
    assert change_of(fit.feeds) == pytest.approx(change, abs=1e-7)
    covariance = np.linalg.inv(augmented.T @ augmented)
    for k, operation in ((0, ENGRAVE), (1, SLITS), (2, OUTER)):
        error = np.sqrt(covariance[k, k]) / (1.0 + change[k]) * fit.feeds[operation].speed
        assert fit.spread[operation][0] == pytest.approx(error, rel=1e-5)
        assert fit.told[operation] == pytest.approx(1.0 - covariance[k, k] / PRIOR[k, k], abs=1e-6)
    assert fit.spread[OUTER][1] == pytest.approx(0.1 * np.sqrt(covariance[3, 3]), rel=1e-5)
    between = np.array([0.0, 1.0, -1.0, 0.0])
    assert fit.apart == pytest.approx(1.0 - between @ covariance @ between / (2 * 0.15**2), abs=1e-6)


def plain_least_squares(log):
    """Speed and pierce of every operation by scipy's least squares with nothing below zero, and what they predict."""
    operations = (ENGRAVE, SLITS, INNER, OUTER)

    def row(work):
        held = [work.get(operation, Work(0.0, 0, 0)) for operation in operations]
        return [value for task in held for value in (task.length, task.pierces)]

    def rest(work):
        return sum(e.pieces * LASER.feeds[o].speed / 1000.0 + e.short for o, e in work.items()) + 30.0

    weight = 1.0 / np.array([job.seconds for job in log])
    aim = np.array([job.seconds - rest(job.work) for job in log])
    found = nnls(np.array([row(job.work) for job in log]) * weight[:, None], aim * weight)[0]
    return lambda work: float(np.array(row(work)) @ found) + rest(work)


@pytest.mark.parametrize(
    ("lengths", "count"), one_quick([(WALLS, 1), (WALLS, 3), (WALLS, 8), (FLOOR, 1), (FLOOR, 3), (FLOOR, 8)])
)
def test_times_of_a_new_sheet_come_nearer_to_the_truth(lengths, count):
    """Noise of 5 per cent, sheets all alike; then another such sheet, or a floor that no note was like."""
    before, after, plain = [], [], []
    for seed in range(60):
        rng = np.random.default_rng(1000 + seed)
        truth = make_truth(rng)
        log = make_log(rng, truth, count)
        fit = fit_feeds(log, LASER)
        work = make_sheet(rng, lengths)
        right = seconds(work, truth) + 30.0
        job = TimedJob(work, right, 30.0)
        before.append(abs(expected_seconds(job, LASER) / right - 1.0))
        after.append(abs(expected_seconds(job, replace(LASER, feeds=fit.feeds)) / right - 1.0))
        plain.append(abs(plain_least_squares(log)(work) / right - 1.0))
        assert all(0.2 < fit.feeds[operation].speed / LASER.feeds[operation].speed < 5.0 for operation in Operation)
    before, after, plain = (np.array(values) for values in (before, after, plain))
    assert after.mean() < before.mean() / 2
    assert np.quantile(after, 0.9) < np.quantile(before, 0.9) / 2
    assert (after < before).mean() > 0.7
    assert after.mean() < 0.8 * plain.mean()


def test_one_note_scales_all_cuts_together():
    rng = np.random.default_rng(3)
    work = make_sheet(rng)
    fit = fit_feeds([TimedJob(work, 2.0 * seconds(work, LASER.feeds) + 30.0, 30.0)], LASER)
    slower = {
        operation: LASER.feeds[operation].speed / fit.feeds[operation].speed for operation in (ENGRAVE, SLITS, OUTER)
    }
    # slits and outlines nearly alike; the little engraving hardly changes
    assert slower[SLITS] == pytest.approx(slower[OUTER], rel=0.05)
    assert slower[SLITS] > 1.8
    assert slower[ENGRAVE] < 1.2
    assert fit.told[SLITS] > 0.8 and fit.told[ENGRAVE] < 0.3
    assert abs(fit.apart) < 0.1
    assert expected_seconds(TimedJob(work, 1.0, 30.0), replace(LASER, feeds=fit.feeds)) == pytest.approx(
        2.0 * seconds(work, LASER.feeds) + 30.0, rel=0.02
    )


def test_sheets_of_different_kinds_tell_slits_and_outlines_apart():
    rng = np.random.default_rng(5)
    feeds = {**LASER.feeds, SLITS: Feed(4.0), INNER: Feed(7.0), OUTER: Feed(7.0)}
    kinds = ({SLITS: 10000.0}, {OUTER: 6000.0}, {SLITS: 4000.0, OUTER: 6000.0}) * 3
    log = [TimedJob(work, seconds(work, feeds) + 5.0, 5.0) for work in (make_sheet(rng, kind) for kind in kinds)]
    fit = fit_feeds(log, LASER, scatter=0.01)
    assert fit.feeds[SLITS].speed == pytest.approx(4.0, rel=0.03)
    assert fit.feeds[OUTER].speed == pytest.approx(7.0, rel=0.03)
    assert fit.apart > 0.9
    assert fit.slips == ()


def test_a_slip_of_the_pen_is_found_and_spoils_nothing():
    rng = np.random.default_rng(11)
    log = make_log(rng, make_truth(rng), 7)
    sound = fit_feeds(log, LASER)
    assert sound.slips == ()
    for wrong in (log[2].seconds / 60.0, log[2].seconds * 60.0):  # minutes for seconds, and the other way
        spoilt = fit_feeds([*log[:2], replace(log[2], seconds=max(wrong, 31.0)), *log[3:]], LASER)
        assert spoilt.slips == (2,)
        assert spoilt.feeds[SLITS].speed == pytest.approx(sound.feeds[SLITS].speed, rel=0.06)


def test_a_log_that_scatters_more_is_believed_less():
    rng = np.random.default_rng(2)
    truth = make_truth(rng)
    work = [make_sheet(rng) for _ in range(20)]
    calm, wild = (
        [TimedJob(job, (seconds(job, truth) + 30.0) * (1 + noise * sign), 30.0) for job, sign in
         zip(work, (1, -1) * 10, strict=True)] for noise in (0.02, 0.12)
    )  # fmt: skip
    assert fit_feeds(calm, LASER).scatter == SCATTER
    assert fit_feeds(wild, LASER).scatter > 0.1
    assert fit_feeds(wild, LASER).spread[OUTER][0] > 1.15 * fit_feeds(calm, LASER).spread[OUTER][0]


def test_logs_that_say_nothing_are_refused():
    work = {OUTER: Work(100.0, 4, 1)}
    with pytest.raises(BadSettingError, match="no job"):
        fit_feeds([], LASER)
    with pytest.raises(BadSettingError, match="Job 1 of the log took 5 s"):
        fit_feeds([TimedJob(work, 5.0, 9.0)], LASER)
    with pytest.raises(BadSettingError, match="Job 2 of the log cut nothing"):
        fit_feeds([TimedJob(work, 25.0), TimedJob({}, 9.0)], LASER)
    # ten minutes and a hundred for one and the same sheet
    twice = [TimedJob({OUTER: Work(9000.0, 100, 20)}, time) for time in (600.0, 6000.0)]
    with pytest.raises(BadSettingError, match="contradict"):
        fit_feeds(twice, LASER)
    # the more a sheet has of outlines, the sooner it was done
    twisted = [
        TimedJob({SLITS: Work(9000.0, 100, 20), OUTER: Work(length, 4, 1)}, time)
        for length, time in ((100.0, 3000.0), (4000.0, 2000.0), (8000.0, 1000.0), (11000.0, 200.0)) * 6
    ]
    with pytest.raises(BadSettingError, match=r"contradict one another.*check them"):
        fit_feeds(twisted, LASER, scatter=0.01)
