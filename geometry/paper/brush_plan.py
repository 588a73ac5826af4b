"""The plan for the brush: every colour with its number, swatch and areas, the order of work, a sketch of every face."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import shapely

from ..finish.finish import Pattern
from ..paint.plan import Colour, PaintPlan, is_outside, paint_plan
from ..part import ColourField, PaintRole, Part, PartKind
from ..sheet.alike import counted_names
from ..sheet.times import finish_seconds
from .finish_words import drawn_words
from .markup import bold, joined, length, name, table, text
from .paint_sketch import LEAST_TAPED, draw_face
from .pictures import picture_scale

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["brush_section", "colour_words"]

#: Square millimetres in a square centimetre.
_CM2 = 100.0

#: Sketches take this share of the page's width at most.
_SHARE = 0.97

#: A field that covers less of its face is told in tenths of a square centimetre.
_FINE = 10.0

#: What the units of a pattern are, what some of them are, and what stands round openings.
_BOARDS = ("boards", "odd boards", "frames")
_BRICKS = ("bricks", "headers", "soldiers round openings")
_STONES = ("stones", "odd stones", "dressed stones round openings")
_BLOCKS = ("blocks", "turned blocks", "")
_UNITS: Mapping[Pattern, tuple[str, str, str]] = {
    **dict.fromkeys((Pattern.UPRIGHT_BOARDS, Pattern.LEVEL_BOARDS, Pattern.LAPPED_BOARDS), _BOARDS),
    Pattern.STRETCHER_BOND: ("bricks", "odd bricks", "soldiers round openings"),
    **dict.fromkeys((Pattern.ENGLISH_BOND, Pattern.FLEMISH_BOND), _BRICKS),
    **dict.fromkeys((Pattern.COURSED_STONE, Pattern.RUBBLE), _STONES),
    Pattern.TIMBER_FRAME: ("panels", "timbers", ""),
    Pattern.SLATES: ("slates", "odd slates", ""),
    Pattern.SHINGLES: ("shingles", "odd shingles", ""),
    Pattern.PANTILES: ("pantiles", "odd pantiles", ""),
    Pattern.THATCH: ("thatch", "", ""),
    Pattern.FLAGSTONES: ("flags", "odd flags", ""),
    Pattern.CHEQUER: ("light cells", "dark cells", ""),
    **dict.fromkeys((Pattern.BASKET, Pattern.HERRINGBONE), _BLOCKS),
}

_BOARD_WORDS = {
    PaintRole.LEAF: "doors and shutters that open",
    PaintRole.TRIM: "trim",
    PaintRole.TILE: "light tiles of the floor",
    PaintRole.DARK_TILE: "dark tiles of the floor",
}


def colour_words(outcome: Outcome, finish: str, role: PaintRole) -> str:
    """Return what a colour is for, as markup: its finish, and which units of it."""
    if role in _BOARD_WORDS:
        return _BOARD_WORDS[role]
    if not finish:
        return "no finish in the model"
    known, scheme = outcome.settings.finishes.get(finish), outcome.settings.paint.schemes.get(finish)
    several = scheme is not None and (scheme.units or scheme.around)
    if known is None or not several:
        return name(finish)
    main, units, around = _UNITS[known.pattern]
    return f"{name(finish)}: {({PaintRole.UNITS: units, PaintRole.AROUND: around}).get(role, main)}"


def brush_section(outcome: Outcome) -> str:
    """Return the markup of the colours, their order and the sketches; empty where the model names no colour."""
    plan = paint_plan(outcome.standing, outcome.settings.paint)
    if not plan.colours:
        return ""
    steps = "\n".join(f"<li>{step}</li>" for step in _order(outcome, plan))
    return f"""<h3>Colours</h3>
<p class="ahead">Numbers are the order of work. Areas are what shows: strips of a wall under a cheek, places for glue
and openings are left out.</p>
{_colours(outcome, plan)}
<ol>
{steps}
</ol>
<h3>Where every colour goes</h3>
<p>Hatched: stays bare, for joints and glue. Dashed: an edge of tape before the darker colour. Dotted: a bend with 1 mm
beside it, stain or thin wash only; cover it with paper cut to that line. A face that is not drawn gets no colour.</p>
{_sketches(outcome, plan)}"""


def _colours(outcome: Outcome, plan: PaintPlan) -> str:
    names = {part.id: part.name for part in outcome.standing}
    seconds = finish_seconds(outcome.layout, outcome.parts)
    rows = []
    for colour in plan.colours:
        drawn = drawn_words(outcome, colour.finish, seconds) if colour.role is PaintRole.MAIN else ""
        bears = joined([text(called) for called in dict.fromkeys(names[part] for part in colour.parts)])
        said = f"{colour_words(outcome, colour.finish, colour.role)}{f'<br/><small>{drawn}</small>' if drawn else ''}"
        areas = (colour.outside, colour.room, colour.edges, colour.area)
        rows.append((f"{_swatch(colour)} <b>{colour.number}</b>", said, bears, *(_cm2(area) for area in areas)))
    heads = ("No.", "Colour", "Parts", "Outside, cm²", "Inside, cm²", "Edges, cm²", "Together")
    return table(heads, rows, numbers=(3, 4, 5, 6))


def _cm2(area: float) -> str:
    return length(area / _CM2, 1 if area < _FINE * _CM2 else 0) if area else ""


def _swatch(colour: Colour) -> str:
    if not colour.colour:
        return '<span class="swatch"></span>'
    return f'<span class="swatch" style="background:{colour.colour}" title="{colour.colour}"></span>'


def _order(outcome: Outcome, plan: PaintPlan) -> list[str]:
    """Return what is done in which order. Stain before paint and light before dark: common practice, no source."""
    paint = outcome.settings.paint
    numbers = [str(colour.number) for colour in plan.colours if colour.colour]
    steps = []
    if thin := [colour for colour in plan.colours if colour.thin]:
        said = joined([f"{colour.number} on {_cm2(colour.thin)} cm²" for colour in thin])
        steps.append(f"Stain first: the bends ({said}), and every colour that you stain instead of painting.")
    if len(numbers) > 1:
        steps.append(
            f"Then base coats, light before dark: {', '.join(numbers)}. A dark colour covers the edge of a light one,"
            " not the other way round. Let a coat dry before you lay tape on it."
        )
    small = {plan.number_of(field) for part in outcome.parts for field in part.colour_fields if _is_small(field)}
    met = {
        plan.number_of(field)
        for part in outcome.parts
        for up in (True, False)
        for face in [[field for field in part.colour_fields if field.up is up and not field.thin]]
        if len({(field.finish, field.role) for field in face}) > 1
        for field in face
    }
    if len(met - small) > 1:
        scored = "the scored" if paint.score else "the engraved"
        steps.append(
            f"Where two colours meet on one face, lay tape along the dashed line over the lighter one, its edge on"
            f" {scored} line, and press that edge down."
        )
    if small:
        steps.append(
            f"Pick {joined([str(number) for number in sorted(small)])} out with a fine brush, unit by unit, up to the"
            " engraved lines; tape is no use there."
        )
    washed = [colour for colour in plan.colours if colour.role is PaintRole.MAIN and _lines_of(outcome, colour)]
    for colour in washed:
        ink = _lines_of(outcome, colour)
        steps.append(
            f"Wash the lines of {colour.number} with {_chip(ink)} thinned until it runs, over the dry coat, and wipe"
            " the face with a damp cloth: the wash stays in the lines."
        )
    return steps


def _is_small(field: ColourField) -> bool:
    """Whether all pieces of a field are too small for tape."""
    return bool((shapely.area(shapely.get_parts(field.area)) <= LEAST_TAPED).all()) and not field.thin


def _lines_of(outcome: Outcome, colour: Colour) -> str:
    scheme = outcome.settings.paint.schemes.get(colour.finish)
    drawn = colour.finish in outcome.settings.finishes
    return scheme.lines if scheme is not None and drawn else ""


def _chip(colour: str) -> str:
    return f'<span class="swatch" style="background:{colour}" title="{colour}"></span>'


def _sketches(outcome: Outcome, plan: PaintPlan) -> str:
    """Return a figure for every face with colours; tiles and trim of one colour have none of their own."""
    drawn = [part for part in outcome.parts if part.colour_fields and part.kind is not PartKind.TRIM]
    if not drawn:
        return ""
    scale = picture_scale([part.size for part in drawn], share=_SHARE)
    figures = []
    for alike in counted_names(drawn).values():
        for part in _unlike(alike):
            for up in (True, False):
                fields = [field for field in part.colour_fields if field.up is up]
                if fields:
                    figures.append(_figure(outcome, part, fields, plan, scale))
    size = "true size on A4" if scale == 1.0 else f"1 : {length(1 / scale, 2)} on A4"
    return f'<p class="ahead small">Drawn {size}.</p>\n<div class="pictures">\n' + "\n".join(figures) + "\n</div>"


def _unlike(alike: Sequence[Part]) -> list[Part]:
    """Return of parts that are cut alike those that are painted differently."""
    found: dict[tuple[object, ...], Part] = {}
    for part in alike:
        key = tuple((field.finish, field.role, field.up, round(float(field.area.area))) for field in part.colour_fields)
        found.setdefault(key, part)
    return list(found.values())


def _figure(outcome: Outcome, part: Part, fields: Sequence[ColourField], plan: PaintPlan, scale: float) -> str:
    sums: dict[int, float] = {}
    for field in fields:
        number = plan.number_of(field)
        sums[number] = sums.get(number, 0.0) + float(field.area.area)
    colours = {colour.number: colour for colour in plan.colours}
    legend = "; ".join(
        f"{_swatch(colours[number])} <b>{number}</b>"
        f" {colour_words(outcome, colours[number].finish, colours[number].role)} {length(area / _CM2, 1)} cm²"
        for number, area in sorted(sums.items())
    )
    side = "outside" if is_outside(part, fields[0]) else ("upper face" if part.kind is PartKind.FLOOR else "room side")
    below = "" if fields[0].up else ", seen from below as it was cut"
    return (
        f"<figure>{draw_face(part, fields, plan, outcome.settings.paint, scale=scale)}<figcaption>"
        f"{bold(part.name)}, {side}{below}: {legend}</figcaption></figure>"
    )
