"""Feeds follow from a log of times as scipy fits them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import curve_fit
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.sheet.feeds import TimedJob, Work, fit_feeds
from stowfold.geometry.sheet.laser import Laser, Operation

TRUE = {Operation.SLITS: (4.5, 0.25), Operation.OUTER: (8.0, 0.4)}


def seconds(work, feeds, acceleration=1000.0):
    return sum(
        each.length / feeds[name][0] + each.pieces * feeds[name][0] / acceleration + each.pierces * feeds[name][1]
        for name, each in work.items()
    )


def make_log(count, noise=0.0, seed=3):
    rng = np.random.default_rng(seed)
    jobs = []
    for _ in range(count):
        work = {
            Operation.SLITS: Work(rng.uniform(500, 9000), int(rng.integers(50, 2000)), int(rng.integers(20, 600))),
            Operation.OUTER: Work(rng.uniform(500, 4000), int(rng.integers(10, 200)), int(rng.integers(2, 30))),
        }
        jobs.append(TimedJob(work, seconds(work, TRUE) + 30.0 + noise * rng.normal(), besides=30.0))
    return jobs


def test_exact_times_give_back_the_feeds():
    fit = fit_feeds(make_log(6), Laser())
    for operation, (speed, pierce) in TRUE.items():
        assert fit.feeds[operation].speed == pytest.approx(speed, rel=1e-6)
        assert fit.feeds[operation].pierce == pytest.approx(pierce, rel=1e-5)
    assert fit.feeds[Operation.INNER] == Laser().feeds[Operation.INNER]
    assert fit.missed < 1e-6


def test_noisy_times_agree_with_scipy_and_so_does_the_spread():
    log = make_log(25, noise=8.0)
    fit = fit_feeds(log, Laser())

    def model(_, v1, p1, v2, p2):
        feeds = {Operation.SLITS: (v1, p1), Operation.OUTER: (v2, p2)}
        return np.array([seconds(job.work, feeds) for job in log])

    measured = [job.seconds - job.besides for job in log]
    best, covariance = curve_fit(model, np.zeros(len(log)), measured, p0=[6, 0.1, 6, 0.1])
    spread = np.sqrt(np.diag(covariance))
    for k, operation in enumerate(TRUE):
        feed = fit.feeds[operation]
        assert [feed.speed, feed.pierce] == pytest.approx(best[2 * k : 2 * k + 2], rel=1e-3)
        assert fit.spread[operation] == pytest.approx(tuple(spread[2 * k : 2 * k + 2]), rel=2e-2)
        assert abs(feed.speed - TRUE[operation][0]) < 5 * fit.spread[operation][0]


def test_one_reading_changes_the_feeds_least_and_states_no_spread():
    log = make_log(1)
    fit = fit_feeds(log, Laser())
    assert fit.spread == {}
    feeds = {each: (fit.feeds[each].speed, fit.feeds[each].pierce) for each in TRUE}
    assert seconds(log[0].work, feeds) == pytest.approx(log[0].seconds - 30.0, rel=1e-6)  # the time is met


def test_logs_that_say_nothing_are_refused():
    work = {Operation.OUTER: Work(100.0, 4, 1)}
    with pytest.raises(BadSettingError, match="no job"):
        fit_feeds([], Laser())
    with pytest.raises(BadSettingError, match="Job 1 of the log took 5 s"):
        fit_feeds([TimedJob(work, 5.0, 9.0)], Laser())
    twisted = [TimedJob({Operation.OUTER: Work(length, 4, pierces)}, time) for length, pierces, time in
               ((1000.0, 1, 10.0), (100.0, 100, 900.0), (5000.0, 1, 5.0))]  # fmt: skip
    with pytest.raises(BadSettingError, match="contradict"):
        fit_feeds(twisted, Laser())
