"""Maps: what the squares are painted with, made from the measured shares, reaches and hands, and where they fail.

Colours run from dark to light in one order of lightness, so that they read with any colour vision and
in grey; where a square fails it is crossed as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from .hand import EASY, Pinch, barred_squares
from .measure import Maps, Player
from .percent import LEAST, as_percent
from .reach import Reach
from .sight import NEVER_SEEN, SEEN, FigureHeight, SightLine
from .table_top import Squares

__all__ = ["Paint", "changes", "failing_squares", "paint", "ramp", "worst_seats"]

#: From nothing to all: dark slate blue over grey to straw; lightness rises evenly.
RAMP = np.array(
    [(0.110, 0.125, 0.260), (0.250, 0.290, 0.420), (0.435, 0.455, 0.470), (0.665, 0.635, 0.440), (0.960, 0.870, 0.420)]
)

#: Less than before, as before, more than before.
_LESS, _SAME, _MORE = np.array([0.835, 0.369, 0.0]), np.array([0.82, 0.82, 0.82]), np.array([0.0, 0.447, 0.698])


@dataclass(frozen=True, slots=True, eq=False)
class Paint:
    """What is drawn: per square a colour, words, and whether it fails; (rows, columns, ...) arrays.

    legend: (colour, words) from good to bad. crossed: what a cross says. remarks: lines below it. lines: of sight.
    walls: what stands of a building whose roof is lifted, for the view from a seat.
    """

    squares: Squares
    colours: np.ndarray
    words: np.ndarray
    fails: np.ndarray
    title: str
    legend: tuple[tuple[tuple[float, float, float], str], ...]
    crossed: str = ""
    remarks: tuple[str, ...] = ()
    lines: tuple[SightLine, ...] = ()
    players: tuple[Player, ...] = ()
    walls: tuple[tuple[np.ndarray, ...], ...] = ()


def ramp(values: np.ndarray) -> np.ndarray:
    """Return the colours, (..., 3), of values from 0 to 1."""
    at = np.clip(np.nan_to_num(values), 0.0, 1.0)
    stops = np.linspace(0.0, 1.0, len(RAMP))
    return np.stack([np.interp(at, stops, RAMP[:, k]) for k in range(3)], axis=-1)


def _entry(colour: np.ndarray, words: str) -> tuple[tuple[float, float, float], str]:
    red, green, blue = (float(part) for part in colour)
    return (red, green, blue), words


def _over_seats(values: np.ndarray, whose: str, seat: int, *, best: bool = False) -> np.ndarray:
    """Return the values, (seats, ...), of one seat, their mean (or the best) or the worst; more is better."""
    if whose == "SEAT":
        return values[seat]
    if whose == "WORST":
        return values.min(axis=0)
    return values.max(axis=0) if best else values.mean(axis=0)


def _share(maps: Maps, whose: str, seat: int, height: FigureHeight) -> np.ndarray:
    return _over_seats(maps.share[:, height], whose, seat)


def paint(maps: Maps, *, remarks: tuple[str, ...] = (), **choices: object) -> Paint:
    """Return what is drawn for the choices of the sidebar (see ``_choose``), with lines of sight and players."""
    made = _choose(maps, **choices)  # type: ignore[arg-type]
    lifted = ("Roof lifted: it hides nothing",) if maps.lifted and maps.seats else ()
    remarks = (*made.remarks, *lifted, *remarks)
    return replace(made, remarks=remarks, lines=maps.lines, players=maps.players, walls=maps.walls)


def _choose(
    maps: Maps,
    *,
    shows: str = "SIGHT",
    whose: str = "MEAN",
    height: FigureHeight = FigureHeight.BASE,
    pinch: Pinch = Pinch.SHORT,
    active: str | None = None,
    before: Maps | None = None,
) -> Paint:
    """Return what the squares are painted with.

    shows, whose: as the sidebar names them. height, pinch: which of the measured ones. active: name of
    the seat that counts for one seat, else the first. before: the maps kept for comparison.
    """
    seat = maps.seats.index(active) if active in maps.seats else 0
    who = {"SEAT": maps.seats[seat], "MEAN": "mean of all seats", "WORST": "worst seat"}[whose] if maps.seats else ""
    if not maps.seats:
        nothing = np.zeros(maps.squares.inside.shape)
        words = np.full(nothing.shape, "", dtype=object)
        return Paint(maps.squares, ramp(nothing + 0.5), words, nothing > 0, "No seats yet", (), remarks=("Add seats",))
    at = height.name.lower()
    if shows == "CHANGE" and before is not None:
        return _paint_change(maps, before, whose, seat, height, f"{who}, {at} height")
    if shows == "SEATS":
        count = (maps.share[:, height] >= SEEN).sum(axis=0)
        total = len(maps.seats)
        steps = sorted({0, total, *np.linspace(0, total, min(total + 1, 5)).round().astype(int).tolist()}, reverse=True)
        legend = tuple(_entry(ramp(np.array(step / total)), f"{step} of {total}") for step in steps)
        title = f"Seats that see, {at} height"
        return _painted(maps, count / total, _worded(count, str), count == 0, title, legend, "no seat")
    if shows == "REACH":
        return _paint_reach(maps, whose, seat, who)
    if shows == "HAND" and maps.hands is not None:
        return _paint_hands(maps, whose, seat, pinch, who)
    share = _share(maps, whose, seat, height)
    legend = tuple(_entry(ramp(np.array(step)), f"{step:.0%}") for step in (1.0, 0.75, 0.5, 0.25, 0.0))
    words = _worded(share, lambda value: _percent(value).rstrip("%").replace("under ", "<"))
    title = f"Seen: {who}, {at} height"
    return _painted(maps, share, words, share < NEVER_SEEN, title, legend, f"under {NEVER_SEEN:.0%}")


def _painted(
    maps: Maps,
    values: np.ndarray,
    words: np.ndarray,
    fails: np.ndarray,
    title: str,
    legend: Sequence,
    crossed: str = "",
) -> Paint:
    return Paint(maps.squares, ramp(values), words, fails & maps.squares.inside, title, tuple(legend), crossed)


def _percent(share: float) -> str:
    """Return a share in whole percents; one below the threshold of what is hardly seen is not rounded up to it."""
    return as_percent(math.floor(100.0 * share) / 100.0 if LEAST <= share < NEVER_SEEN else share)


def _worded(values: np.ndarray, say: Callable[[float], str]) -> np.ndarray:
    words = np.array([say(value) for value in values.ravel().tolist()], dtype=object)
    return words.reshape(values.shape)


def _paint_change(maps: Maps, before: Maps, whose: str, seat: int, height: FigureHeight, who: str) -> Paint:
    same = before.squares.inside.shape == maps.squares.inside.shape and before.seats and (before.squares.inside.any())
    if not same:
        return _painted(
            maps,
            np.zeros(maps.squares.inside.shape),
            _worded(np.zeros(maps.squares.inside.shape), lambda _: ""),
            np.zeros(maps.squares.inside.shape, dtype=bool),
            "The kept map is of another room",
            (),
        )
    old = before.seats.index(maps.seats[seat]) if maps.seats[seat] in before.seats else 0
    change = _share(maps, whose, seat, height) - _share(before, whose, old, height)
    size = np.clip(np.abs(change) / 0.5, 0.0, 1.0)[..., None]
    colours = np.where(change[..., None] < 0.0, _LESS, _MORE) * size + _SAME * (1.0 - size)
    legend = (
        _entry(_MORE, "50% more"),
        _entry((_MORE + _SAME) / 2, "25% more"),
        _entry(_SAME, "as before"),
        _entry((_LESS + _SAME) / 2, "25% less"),
        _entry(_LESS, "50% less"),
    )
    words = _worded(change, lambda value: f"{100 * value:+.0f}")
    fails = (change <= -0.25) & maps.squares.inside
    return Paint(maps.squares, colours, words, fails, f"Change from A: {who}", legend, "25% less, or worse")


#: What it takes to reach a square, from little to much; one word for the square, one for the legend.
_REACHES = ("upright", "leaning 15°", "stretching 30°", "only standing")


def _paint_reach(maps: Maps, whose: str, seat: int, who: str) -> Paint:
    # here less is better
    reach = -_over_seats(-maps.reach.reach.astype(int), whose, seat, best=True)
    who = "the nearest seat" if whose == "MEAN" else who
    colours = [np.array(1.0 - step / 3.0) for step in range(4)]
    legend = tuple(_entry(ramp(colours[step]), words) for step, words in enumerate(_REACHES))
    words = _worded(reach, lambda value: ("", "0°", "15°", "30°", "up")[int(value) + 1])
    fails = reach == Reach.STAND
    values = 1.0 - np.clip(reach, Reach.EASY, Reach.STAND) / Reach.STAND
    return _painted(maps, values, words, fails, f"Reach: {who}", legend, _REACHES[Reach.STAND])


def _paint_hands(maps: Maps, whose: str, seat: int, pinch: Pinch, who: str) -> Paint:
    assert maps.hands is not None
    # hands whose fingers are always as long have one pinch
    finger = min(pinch, len(maps.hands.probes) - 1)
    margin = _over_seats(maps.hands.margin[finger], whose, seat, best=True)
    who = "the best seat" if whose == "MEAN" else who
    length = maps.hands.probes[finger].stages[1][0]
    # blocked, tight, and then more and more room
    value = np.where(margin < 0.0, 0.0, np.where(margin < EASY, 0.5, 1.0))
    legend = tuple(
        _entry(ramp(np.array(shade)), said)
        for shade, said in ((1.0, f"{EASY:g} mm or more"), (0.5, f"less than {EASY:g} mm"), (0.0, "blocked"))
    )
    words = _worded(margin, lambda room: "" if np.isnan(room) else ">99" if room > 99.0 else f"{room:.0f}")
    return _painted(maps, value, words, margin < 0.0, f"Hand room: {who}, pinch {length:.0f} mm", legend, "blocked")


def worst_seats(maps: Maps, height: FigureHeight) -> list[tuple[str, float]]:
    """Return each seat with the share of the room that it sees at a height, the one that sees least first."""
    shares = maps.share[:, height][:, maps.squares.inside].mean(axis=1)
    return sorted(zip(maps.seats, shares.tolist(), strict=True), key=lambda pair: (round(pair[1], 6), pair[0]))


def failing_squares(maps: Maps, height: FigureHeight) -> list[tuple[str, list[tuple[int, int, str]]]]:
    """Return (title, squares) for what fails from every seat: (row, column, words) each, the worst first."""
    inside = maps.squares.inside
    seen = maps.share[:, height].max(axis=0)
    hardly = f"Hardly seen, under {NEVER_SEEN:.0%}"
    found = [(hardly, _places((seen < NEVER_SEEN) & inside, seen, _percent))]
    reach = maps.reach.best()
    far = _distances(maps)
    found.append(("Out of reach", _places((reach == Reach.STAND) & inside, -far, lambda mm: f"{-mm:.0f} mm away")))
    if maps.hands is not None:
        for title, finger, mask in zip(
            ("No hand fits", "Only a long pinch fits"), (-1, 0), barred_squares(maps.hands), strict=True
        ):
            margin = np.nan_to_num(maps.hands.margin[finger].max(axis=0))
            found.append((title, _places(mask, margin, lambda mm: f"{-mm:.0f} mm too tight")))
    return found


def _distances(maps: Maps) -> np.ndarray:
    """Return the distance of every square from the nearest shoulder, (rows, columns) mm."""
    shoulders = np.array([player.shoulder for player in maps.players])
    return np.linalg.norm(maps.squares.centres[None] - shoulders[:, None, None], axis=-1).min(axis=0)


def _places(mask: np.ndarray, values: np.ndarray, say: Callable[[float], str]) -> list[tuple[int, int, str]]:
    places = [(int(row), int(column)) for row, column in np.argwhere(mask)]
    places.sort(key=lambda square: (round(float(values[square]), 6), square))
    return [(row, column, say(float(values[row, column]))) for row, column in places]


def changes(before: Maps, after: Maps, height: FigureHeight) -> list[tuple[str, float, float]]:
    """Return (seat, share before, share now) for seats of both maps, the one that lost most first."""
    old, new = dict(worst_seats(before, height)), dict(worst_seats(after, height))
    both = [(name, old[name], new[name]) for name in new if name in old]
    return sorted(both, key=lambda entry: (round(entry[2] - entry[1], 6), entry[0]))
