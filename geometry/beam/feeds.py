"""Feeds from the clock: what jobs took in truth corrects the speeds that times are estimated with.

The maker notes how long a sheet ran. The time of one operation is length over speed, a ramp at each end of
every straight piece, and a pierce per line. Makers note whole sheets, in which engraving, slits and outlines
come mixed in nearly the same proportion, so plain least squares would tell them apart by the noise of the
clock alone. Therefore the feeds stay near what they were, as far as the log does not say otherwise: that all
cuts are quicker or slower together is believed soon, that they differ among themselves only slowly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import BadSettingError
from .laser import Feed, Laser, Operation

__all__ = ["SCATTER", "FeedFit", "TimedJob", "Work", "expected_seconds", "fit_feeds"]

#: Noted times scatter by about this share: start and stop of the watch, heat, dirt on the lens.
#: Common practice, no source; where the log itself shows more, that counts.
SCATTER = 0.05

# How far feeds may be from the truth before anything is noted, as shares of their slowness. Common practice, no source.
#: All cuts together: another machine, another board.
_TOGETHER = 0.7
#: One kind of cut beside the others.
_APART = 0.15
#: The time to pierce.
_PIERCE = 0.5

#: Pierces that were set to 0 may come out as some of this, s.
_SHORT_PIERCE = 0.1

#: A time that is off by more than this many scatters counts no more than one that is off by just this many (Huber,
#: Robust Estimation of a Location Parameter, 1964): a slip of the pen must not spoil a log.
_SLIP = 3.0

#: Times that miss by more than this share in the middle, whatever the feeds, have nothing in common.
_CONTRADICTION = 0.5

#: Operations that share a speed: holes and outlines are cut alike. Those that go through share the pierce.
_SPEEDS = (
    (Operation.ENGRAVE,),
    (Operation.SCORE,),
    (Operation.SLITS,),
    (Operation.INNER, Operation.OUTER),
    (Operation.FILL,),
)
_THROUGH = (Operation.SLITS, Operation.INNER, Operation.OUTER)

#: Places of the unknowns: slowness of slits and of outlines among the speeds, then the pierce.
_OF_SLITS, _OF_CUTS, _OF_PIERCE = 2, 3, len(_SPEEDS)

#: Steps of Gauss and Newton, and of the weights of slips; only the small share of the ramps is not linear.
_STEPS = 40


@dataclass(frozen=True, slots=True)
class Work:
    """What one operation of a job had to do. length, pieces: of straight pieces on which the speed is reached, mm
    in all, and their number; pierces: number of lines; short: time of pieces too short for the speed, s.
    """

    length: float
    pieces: int
    pierces: int
    short: float = 0.0


@dataclass(frozen=True, slots=True)
class TimedJob:
    """One line of the maker's log. seconds: what the job took; besides: travel and the like in it, s."""

    work: Mapping[Operation, Work]
    seconds: float
    besides: float = 0.0


@dataclass(frozen=True, slots=True)
class FeedFit:
    """Feeds that a log makes likely.

    spread: standard errors of (speed, pierce) in mm/s and s, per operation of the log. told: share 0 .. 1 of what
    was uncertain about a speed that the log settles. apart: the same for slits against outlines; near 0 the log
    only says how fast both are together. misses: per job, how much longer than these feeds say it took, as a
    share. scatter: what noted times scatter by.
    """

    feeds: Mapping[Operation, Feed]
    spread: Mapping[Operation, tuple[float, float]]
    told: Mapping[Operation, float]
    apart: float
    misses: tuple[float, ...]
    scatter: float

    @property
    def slips(self) -> tuple[int, ...]:
        """Numbers, from 0, of jobs that do not go with the others."""
        return tuple(k for k, miss in enumerate(self.misses) if abs(miss) > _SLIP * self.scatter)


def fit_feeds(log: Sequence[TimedJob], laser: Laser, *, scatter: float = SCATTER) -> FeedFit:
    """Return the laser's feeds corrected by a log of jobs.

    Unknown are the slowness of engraving, of scores, of slits, of holes and outlines together, and of hatching, and
    the pierce of all that goes through. They minimise, by least squares, the misses of the jobs over ``scatter`` (a
    share of each time) and the changes of the feeds over what they may be off by: a ridge, or Tikhonov,
    regularisation with correlated changes (Hoerl and Kennard, Ridge Regression, 1970). So operations that take much
    of the time change more than those that take little. Passes are kept.
    Raises BadSettingError for an empty log, for times that no job can take, and where the times contradict one another.
    """
    if not log:
        raise BadSettingError("The log holds no job; note the time of at least one.")
    for number, job in enumerate(log, 1):
        if not (np.isfinite(job.seconds) and job.seconds > job.besides >= 0.0):
            raise BadSettingError(
                f"Job {number} of the log took {job.seconds:g} s, {job.besides:g} s of it beside the cutting; "
                "the whole must be longer than that."
            )
        if not any(work.length > 0.0 for work in job.work.values()):
            raise BadSettingError(f"Job {number} of the log cut nothing, so no speed can follow from it; leave it out.")
    prior = _prior()
    fit = _solve(log, laser, scatter, prior)
    shown = _scatter_of(log, laser, fit, scatter)
    if shown > scatter:
        scatter = shown
        fit = _solve(log, laser, scatter, prior)
    change, covariance = fit
    feeds = _feeds(laser, change)
    now = replace(laser, feeds=feeds)
    misses = tuple(job.seconds / expected_seconds(job, now) - 1.0 for job in log)
    if float(np.median(np.abs(misses))) > _CONTRADICTION:
        raise BadSettingError(
            f"The times in the log contradict one another: with the likeliest speeds they are still off by "
            f"{np.median(np.abs(misses)):.0%}; check them."
        )
    held = {operation for job in log for operation in job.work}
    spread, told = {}, {}
    for group, operations in enumerate(_SPEEDS):
        for operation in [known for known in operations if known in held]:
            share = float(np.sqrt(covariance[group, group])) / (1.0 + float(change[group]))
            pierce = (
                float(np.sqrt(covariance[_OF_PIERCE, _OF_PIERCE])) * _pierce_scale(laser, operation)
                if operation in _THROUGH
                else 0.0
            )
            spread[operation] = (feeds[operation].speed * share, pierce)
            told[operation] = float(1.0 - covariance[group, group] / prior[group, group])
    between = np.zeros(len(prior))
    between[[_OF_SLITS, _OF_CUTS]] = 1.0, -1.0
    apart = float(1.0 - between @ covariance @ between / (between @ prior @ between))
    return FeedFit(feeds, spread, told, apart, misses, scatter)


def expected_seconds(job: TimedJob, laser: Laser) -> float:
    """Return how long a job takes with the laser's feeds, s."""
    return float(_times([job], laser, np.zeros(len(_SPEEDS) + 1))[0][0]) + job.besides


def _prior() -> np.ndarray:
    """Return the covariance of the changes: slowness of the speeds, then the pierce."""
    prior = np.diag([_TOGETHER**2 + _APART**2] * len(_SPEEDS) + [_PIERCE**2])
    prior[_OF_SLITS, _OF_CUTS] = prior[_OF_CUTS, _OF_SLITS] = _TOGETHER**2
    return prior


def _pierce_scale(laser: Laser, operation: Operation) -> float:
    return laser.feeds[operation].pierce or _SHORT_PIERCE


def _solve(log: Sequence[TimedJob], laser: Laser, scatter: float, prior: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the likeliest change of each unknown, as a share of it, and the covariance that remains."""
    besides = np.array([job.besides for job in log])
    measured = np.array([job.seconds for job in log]) - besides
    change = np.zeros(len(prior))
    free = np.ones(len(prior), dtype=bool)
    # a share of what is expected, not of what was noted: a slip to a far too short time would weigh most
    whole = _times(log, laser, change)[0] + besides
    scale = scatter * whole * np.median((measured + besides) / whole)
    inverse = np.linalg.inv(prior)
    covariance = prior
    for _ in range(_STEPS):
        expected, jacobian = _times(log, laser, change)
        rest = (measured - expected) / scale
        weight = np.sqrt(np.minimum(1.0, _SLIP / np.maximum(np.abs(rest), _SLIP)))
        rows = jacobian / scale[:, None] * weight[:, None]
        normal = rows.T @ rows + inverse
        aim = rows.T @ (rest * weight + rows @ change) - normal[:, ~free] @ change[~free]
        covariance = np.zeros_like(prior)
        covariance[np.ix_(free, free)] = np.linalg.inv(normal[np.ix_(free, free)])
        change = np.where(free, covariance @ aim, change)
        if np.any(change[:_OF_PIERCE] <= -1.0):
            raise BadSettingError("The times in the log contradict one another: a speed would be negative; check them.")
        if change[_OF_PIERCE] < -1.0:  # no pierce is shorter than none
            change[_OF_PIERCE], free[_OF_PIERCE] = -1.0, False
    return change, covariance


def _scatter_of(log: Sequence[TimedJob], laser: Laser, fit: tuple[np.ndarray, np.ndarray], scatter: float) -> float:
    """Return what the log itself shows of scatter (slips held back), where it has jobs enough."""
    change, covariance = fit
    expected, jacobian = _times(log, laser, change)
    besides = np.array([job.besides for job in log])
    miss = (np.array([job.seconds for job in log]) - besides - expected) / (expected + besides)
    rows = jacobian / (scatter * (expected + besides))[:, None]
    settled = float(np.trace(rows @ covariance @ rows.T))
    if len(log) - settled < 1.0:
        return scatter
    held = np.clip(miss, -_SLIP * scatter, _SLIP * scatter)
    return float(np.sqrt(held @ held / (len(log) - settled)))


def _feeds(laser: Laser, change: np.ndarray) -> dict[Operation, Feed]:
    feeds = dict(laser.feeds)
    for group, operations in enumerate(_SPEEDS):
        for operation in operations:
            known = laser.feeds[operation]
            pierce = known.pierce
            if operation in _THROUGH:
                pierce = max(0.0, pierce + float(change[_OF_PIERCE]) * _pierce_scale(laser, operation))
            feeds[operation] = replace(known, speed=known.speed / (1.0 + float(change[group])), pierce=pierce)
    return feeds


def _times(log: Sequence[TimedJob], laser: Laser, change: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the time of each job without what is beside, s, and its derivatives by the changes."""
    expected, jacobian = np.zeros(len(log)), np.zeros((len(log), len(change)))
    for row, job in enumerate(log):
        for group, operations in enumerate(_SPEEDS):
            for operation in operations:
                if (work := job.work.get(operation)) is None:
                    continue
                feed = laser.feeds[operation]
                slow = (1.0 + change[group]) / feed.speed
                ramps = work.pieces / (slow * laser.acceleration)  # speed over acceleration for each piece
                more = change[_OF_PIERCE] * _pierce_scale(laser, operation) if operation in _THROUGH else 0.0
                pierces = work.pierces * (feed.pierce + more)
                expected[row] += feed.passes * (work.length * slow + ramps + work.short + pierces)
                jacobian[row, group] += feed.passes * (work.length - ramps / slow) / feed.speed
                if operation in _THROUGH:
                    jacobian[row, _OF_PIERCE] += feed.passes * work.pierces * _pierce_scale(laser, operation)
    return expected, jacobian
