"""What players get, on paper: a map of the room from every seat, what it takes to reach, and what is in the way."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..play.checks import PlayOutcome
from ..play.hand import Fit
from ..play.percent import as_percent
from ..play.reach import Reach
from ..play.table_top import Seat
from .markup import length, name, plural, table, text

__all__ = ["draw_map", "seats_section"]

#: From dark to light in even steps of lightness, so that the map also reads in grey: slate, stone, straw.
_DARK, _LIGHT = np.array([52.0, 58.0, 84.0]), np.array([247.0, 233.0, 176.0])

#: Side of a square on paper, mm.
_SIDE = 6.4

_REACHED = {Reach.EASY: "at ease", Reach.LEAN: "leaning", Reach.STRETCH: "stretching", Reach.STAND: "only standing"}


def seats_section(play: PlayOutcome | None) -> str:
    """Return the chapter on what each seat sees and reaches."""
    if play is None:
        return (
            "<p>No table and no seats stand in the model, so nothing is known about what players see. Add seats round"
            " the table to learn it.</p>"
        )
    sight = play.sight
    heights = ", ".join(length(height) for height in sight.heights)
    heads = ["Seat", *(f"Seen at {length(height)} mm" for height in sight.heights), "Reached without standing"]
    reached = 1.0 - play.reach.share(Reach.STAND)
    means = sight.in_room.mean(axis=2)
    worst = int(np.argmin(means[:, 0]))
    rows = [[name(seat), *map(as_percent, means[k]), as_percent(reached[k])] for k, seat in enumerate(sight.seats)]
    maps = [
        _figure(
            draw_map(play, sight.share[k, 0], f"Seen from {seat}"),
            f"{name(seat)}: {as_percent(means[k, 0])} of the floor",
        )
        for k, seat in enumerate(sight.seats)
    ]
    best = sight.share.max(axis=0)
    maps.append(
        _figure(draw_map(play, best[0], "Seen from the best seat"), "Best seat for each square; dark ones nobody sees")
    )
    return (
        f'<p class="ahead">{plural(len(sight.seats), "player sits", "players sit")} round the table. The maps show how'
        " much of each"
        f" square of the floor a seat sees, from none (dark) to all (light); the table also says how much is seen at"
        f" {heights} mm above it: base, chest and head of a figure. {name(sight.seats[worst])} sees least.</p>\n"
        + table(heads, rows, numbers=range(1, len(heads)))
        + f'\n<div class="pictures">{"".join(maps)}</div>\n'
        + _occluders(play)
        + _hands(play)
    )


def _occluders(play: PlayOutcome) -> str:
    hiding = [occluder for occluder in play.occluders if max(occluder[1]) >= 0.005][:8]
    if not hiding:
        return ""
    heads = ["In the way", *(f"Takes at {length(height)} mm" for height in play.sight.heights)]
    rows = [[name(what[0].upper() + what[1:]), *(f"{share:.1%}" for share in shares)] for what, shares in hiding]
    return (
        '<p class="ahead">What hides most, alone, of all that the seats could see of the room:</p>\n'
        + table(heads, rows, numbers=range(1, len(heads)))
        + "\n"
    )


def _hands(play: PlayOutcome) -> str:
    hands = play.hands
    inside = play.top.squares.inside
    hand = "a large hand" if _all_are("large", play.top.fitting) else "a player's hand"
    player = "a small player" if _all_are("small", play.top.reaching) else "a player"
    lines = []
    for k, probe in enumerate(hands.probes):
        best = hands.fit[k].max(axis=0)[inside]
        shares = {fit: float((best == fit).mean()) for fit in (Fit.OK, Fit.TIGHT, Fit.BLOCKED)}
        lines.append(
            f"<li>With {length(probe.stages[1][0])} mm of fingers below the palm {hand} comes easily to"
            f" {as_percent(shares[Fit.OK])} of the squares, just to {as_percent(shares[Fit.TIGHT])}, and not to"
            f" {as_percent(shares[Fit.BLOCKED])}.</li>"
        )
    least = play.reach.best()[inside]
    how = ", ".join(f"{as_percent(float((least == reach).mean()))} {words}" for reach, words in _REACHED.items())
    return (
        f"<p>From the best seat {player} reaches the squares: {text(how)}.</p>\n<ul>\n"
        + "\n".join(lines)
        + '\n</ul>\n<p class="small">How long a pinching finger is differs between people and decides much: measure'
        " it on your own players first.</p>"
    )


def _all_are(stature: str, seats: Sequence[Seat]) -> bool:
    return all(seat.stature == stature for seat in seats)


def draw_map(play: PlayOutcome, shares: np.ndarray, title: str) -> str:
    """Return the squares of the room, each as light as its share, (rows, columns) 0 .. 1, as an ``<svg>`` element."""
    squares = play.top.squares
    width, height = squares.columns * _SIDE, squares.rows * _SIDE
    body = []
    for row, column in np.argwhere(squares.inside).tolist():
        share = float(shares[row, column])
        x, y = column * _SIDE, (squares.rows - 1 - row) * _SIDE
        fill = _DARK + (_LIGHT - _DARK) * share
        ink = "#fff" if share < 0.45 else "#24231f"
        body.append(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{_SIDE}" height="{_SIDE}" fill="{_hex(fill)}" stroke="#fff"/>'
            f'<text x="{x + _SIDE / 2:.1f}" y="{y + _SIDE / 2:.1f}" dy="0.35em" font-size="2.3"'
            f' style="fill:{ink}">{share * 100:.0f}</text>'
        )
    return (
        f'<svg role="img" viewBox="-0.5 -0.5 {width + 1:.1f} {height + 1:.1f}"'
        f' style="width:{width + 1:.1f}mm;aspect-ratio:{width + 1:.1f}/{height + 1:.1f}">'
        f"<title>{text(title)}, in hundredths</title>{''.join(body)}</svg>"
    )


def _figure(picture: str, words: str) -> str:
    return f"<figure>{picture}<figcaption>{words}</figcaption></figure>"


def _hex(colour: Sequence[float] | np.ndarray) -> str:
    red, green, blue = (round(float(part)) for part in colour)
    return f"#{red:02x}{green:02x}{blue:02x}"
