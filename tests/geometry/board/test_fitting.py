"""Fitting, against scipy: the same slopes and standard errors from a library that knows nothing of us."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats
from stowfold.geometry.board.fitting import fit_mean, fit_parallel, fit_proportion, least_strength
from stowfold.geometry.errors import BadSettingError

READINGS = st.lists(st.tuples(st.floats(0.1, 50.0), st.floats(-0.2, 0.2)), min_size=4, max_size=12)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(0.1, 10.0), min_size=2, max_size=20))
def test_mean_and_its_standard_error(readings):
    found = fit_mean(readings)
    assert found.value == pytest.approx(np.mean(readings))
    assert found.deviation == pytest.approx(stats.sem(readings), rel=1e-6, abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(READINGS)
def test_slope_through_the_origin(points):
    x = np.array([point[0] for point in points])
    y = 0.7 * x + np.array([point[1] for point in points])
    (slope,), covariance = optimize.curve_fit(lambda x, a: a * x, x, y)
    found = fit_proportion(x, y)
    assert found.value == pytest.approx(slope, rel=1e-6)
    assert found.deviation == pytest.approx(covariance[0, 0] ** 0.5, rel=1e-4, abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(READINGS)
def test_one_line_is_ordinary_regression(points):
    x = np.array([point[0] for point in points]) + np.arange(len(points))
    y = 1.3 + 0.7 * x + np.array([point[1] for point in points])
    theirs = stats.linregress(x, y)
    found = fit_parallel([list(zip(x, y, strict=True))])
    assert found.value == pytest.approx(theirs.slope, rel=1e-6)
    assert found.deviation == pytest.approx(theirs.stderr, rel=1e-5, abs=1e-6)


def test_parallel_lines_share_a_slope():
    """The general solver of numpy, with a column of ones for each line, and its covariance."""
    rng = np.random.default_rng(7)
    groups = [
        [(x, 0.3 * x + rest + noise) for x, noise in zip((0.0, 2.0, 5.0), rng.normal(0, 0.1, 3), strict=True)]
        for rest in (1.0, -2.0, 4.0)
    ]
    design = np.array([[x, *(number == k for k in range(3))] for number, own in enumerate(groups) for x, _ in own])
    y = np.array([y for own in groups for _, y in own])
    solved, rest, *_ = np.linalg.lstsq(design.astype(float), y, rcond=None)
    covariance = np.linalg.inv(design.T @ design) * rest[0] / (len(y) - 4)
    found = fit_parallel(groups)
    assert found.value == pytest.approx(solved[0], rel=1e-12)
    assert found.deviation == pytest.approx(covariance[0, 0] ** 0.5, rel=1e-12)


def test_single_readings_go_through_the_origin_unless_others_know_their_own_weight():
    assert fit_parallel([[(2.0, 3.0)], [(4.0, 6.0)]]).value == pytest.approx(1.5)
    assert fit_parallel([[(2.0, 30.0)], [(0.0, 1.0), (2.0, 2.0)]]).value == pytest.approx(0.5)
    assert fit_parallel([[(2.0, 3.0)]]).deviation is None


def test_readings_without_load_tell_nothing():
    with pytest.raises(BadSettingError, match="without any load"):
        fit_proportion([0.0], [1.0])
    with pytest.raises(BadSettingError, match="different ones"):
        fit_parallel([[(2.0, 1.0), (2.0, 1.1)]])


def test_strength_is_the_least_of_few_and_two_deviations_below_the_mean_of_many():
    assert least_strength([5.0]).value == 5.0
    assert least_strength([5.0, 4.0, 6.0]).value == 4.0
    many = [5.0, 4.0, 6.0, 5.5]
    assert least_strength(many).value == pytest.approx(np.mean(many) - 2 * np.std(many, ddof=1))
    with pytest.raises(BadSettingError, match="such different stresses"):
        least_strength([1.0, 9.0, 1.0, 9.0])
