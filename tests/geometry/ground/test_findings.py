"""Findings: order, repeats, and one sentence for what holds at several places."""

from __future__ import annotations

from stowfold.geometry.findings import Finding, Location, Severity, gathered, in_order, worst

WIDE = "The corner bends to an inside radius of 11 mm."


def corner(edge: int, part: str = "W1", source: str | None = "House") -> Finding:
    return Finding(
        Severity.NOTE, "corner-radius-wide", WIDE, Location(faces=(1,), edges=(edge,), source=source, part=part)
    )


def test_the_same_of_several_places_is_said_once() -> None:
    found = gathered([corner(3), corner(5), corner(5), corner(9, part="W2")])
    assert len(found) == 1
    assert found[0].message == f"At 3 places: {WIDE}"
    assert found[0].where == Location(faces=(1,), edges=(3, 5, 9), source="House", part=None)


def test_objects_and_sentences_stay_apart() -> None:
    other = Finding(Severity.ERROR, "corner-radius-wide", WIDE, Location(source="House"))
    assert len(gathered([corner(3), corner(3, source="Shed"), other])) == 3


def test_one_place_stays_as_it_was() -> None:
    assert gathered([corner(3)]) == (corner(3),)


def test_heaviest_first_and_no_repeats() -> None:
    light, heavy = corner(1), Finding(Severity.ERROR, "boards-cross", "They cross.")
    assert in_order([light, heavy, light]) == (heavy, light)
    assert worst([light, heavy]) is Severity.ERROR
    assert worst([]) is None
