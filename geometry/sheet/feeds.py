"""Feeds from the clock: what jobs took in truth corrects the speeds that times are estimated with.

The maker notes how long a job ran. The time of one operation is length over speed, a ramp at each end of
every straight piece, and a pierce per line. Several jobs make several such equations, solved by least squares.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import BadSettingError
from .laser import Feed, Laser, Operation

__all__ = ["FeedFit", "TimedJob", "Work", "fit_feeds"]

#: Steps of Gauss and Newton: only the small share of the ramps is not linear, so a few are plenty.
_STEPS = 12


@dataclass(frozen=True, slots=True)
class Work:
    """What one operation of a job had to do: length of all lines, mm, their straight pieces, how many lines."""

    length: float
    pieces: int
    pierces: int


@dataclass(frozen=True, slots=True)
class TimedJob:
    """One line of the maker's log. seconds: what the job took; besides: travel and the like in it, s."""

    work: Mapping[Operation, Work]
    seconds: float
    besides: float = 0.0


@dataclass(frozen=True, slots=True)
class FeedFit:
    """Feeds that explain the log best; spread: standard errors of (speed, pierce) in mm/s and s per operation,
    empty where there are no more readings than unknowns. missed: root mean square of what stays unexplained, s.
    """

    feeds: Mapping[Operation, Feed]
    spread: Mapping[Operation, tuple[float, float]]
    missed: float


def fit_feeds(log: Sequence[TimedJob], laser: Laser) -> FeedFit:
    """Return the laser's feeds corrected by a log of jobs.

    Unknown are speed and pierce of every operation in the log. What the log leaves open stays as near to the
    laser's own feeds as can be (least change, relative to them). Passes are kept. Raises BadSettingError for
    an empty log, for times that are none, and where the times contradict one another so much that a speed
    or a pierce would be negative.
    """
    if not log:
        raise BadSettingError("The log holds no job; note the time of at least one.")
    for number, job in enumerate(log, 1):
        if not (np.isfinite(job.seconds) and job.seconds > job.besides >= 0.0):
            raise BadSettingError(
                f"Job {number} of the log took {job.seconds:g} s, {job.besides:g} s of it beside the cutting; "
                "the whole must be longer than that."
            )
    operations = [each for each in Operation if any(each in job.work for job in log)]
    known = {each: laser.feeds[each] for each in operations}
    # Slowness (s/mm) and pierce (s) are what times are linear in.
    start = np.array([value for each in operations for value in (1 / known[each].speed, known[each].pierce)])
    weight = np.where(start > 0.0, start, 0.1)
    measured = np.array([job.seconds - job.besides for job in log])
    found = start.copy()
    jacobian = np.zeros((len(log), len(start)))
    for _ in range(_STEPS):
        expected, jacobian = _times(log, operations, known, found, laser.acceleration)
        step = np.linalg.lstsq(jacobian * weight, measured - expected, rcond=None)[0] * weight
        if np.any((found + step)[::2] <= 0.0):
            raise BadSettingError("The times in the log contradict one another: a speed would be negative; check them.")
        found = found + step
    if np.any(found[1::2] < -1e-9):
        raise BadSettingError("The times in the log contradict one another: a pierce would be negative; check them.")
    rest = measured - _times(log, operations, known, found, laser.acceleration)[0]
    feeds = dict(laser.feeds)
    for k, each in enumerate(operations):
        feeds[each] = replace(known[each], speed=float(1 / found[2 * k]), pierce=max(0.0, float(found[2 * k + 1])))
    return FeedFit(feeds, _spread(jacobian, rest, found, operations), float(np.sqrt(np.mean(rest**2))))


def _times(
    log: Sequence[TimedJob],
    operations: Sequence[Operation],
    known: Mapping[Operation, Feed],
    values: np.ndarray,
    acceleration: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Return the time of each job, s, and its derivatives by slowness and pierce of each operation."""
    expected, jacobian = np.zeros(len(log)), np.zeros((len(log), len(values)))
    for row, job in enumerate(log):
        for k, each in enumerate(operations):
            work = job.work.get(each)
            if work is None:
                continue
            slow, pierce = values[2 * k : 2 * k + 2]
            passes = known[each].passes
            ramps = work.pieces / (slow * acceleration)  # speed over acceleration for each piece
            expected[row] += passes * (work.length * slow + ramps + work.pierces * pierce)
            jacobian[row, 2 * k] = passes * (work.length - ramps / slow)
            jacobian[row, 2 * k + 1] = passes * work.pierces
    return expected, jacobian


def _spread(
    jacobian: np.ndarray, rest: np.ndarray, found: np.ndarray, operations: Sequence[Operation]
) -> dict[Operation, tuple[float, float]]:
    """Return standard errors by the usual formula s^2 (J'J)^-1; nothing where they are not determined.

    Operations without pierces have only their speed determined, so columns of zeros are left out.
    """
    used = np.flatnonzero(np.any(jacobian != 0.0, axis=0))
    freedom = len(rest) - len(used)
    scaled = jacobian[:, used] * np.abs(np.where(found[used] != 0.0, found[used], 1.0))
    if freedom <= 0 or np.linalg.matrix_rank(scaled) < len(used):
        return {}
    errors = np.zeros(len(found))
    covariance = np.linalg.inv(jacobian[:, used].T @ jacobian[:, used]) * (rest @ rest) / freedom
    errors[used] = np.sqrt(np.diag(covariance))
    return {
        each: (float(errors[2 * k] / found[2 * k] ** 2), float(errors[2 * k + 1])) for k, each in enumerate(operations)
    }
