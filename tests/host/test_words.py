"""Words in the sidebar: broken to its width, whole, the icon before the first line only."""

from __future__ import annotations

import pytest
from host_stand_ins import Context, Preferences, Region, System
from stowfold.window import words

SENTENCE = (
    "The bridge between slits is 0.4 mm on panel 7; at least 0.8 mm is needed, so choose a longer "
    "bridge or a thicker board."
)


def context(width=280, scale=1.0):
    """As much of the host's context as the words look at."""
    return Context(Region(width) if width is not None else None, Preferences(System(scale)))


class Column:
    """A layout that remembers its labels."""

    def __init__(self):
        self.labels = []

    def column(self, *, align):
        return self

    def row(self, *, align):
        return "row"

    def label(self, *, text, icon="NONE"):
        self.labels.append((text, icon))


def drawn(text, where, **options):
    column = Column()
    words.paragraph(column, where, text, **options)
    return column.labels


def test_a_wider_sidebar_takes_more_letters_and_larger_letters_fewer():
    assert words.letters_per_line(context(600)) > words.letters_per_line(context(280)) > 20
    assert words.letters_per_line(context(560, 2.0)) == words.letters_per_line(context(280, 1.0))


@pytest.mark.parametrize("width", [0, 1, 60, 90])
def test_in_the_narrowest_sidebar_a_word_still_fits(width):
    assert words.letters_per_line(context(width)) == 16


def test_without_a_region_there_is_a_width_to_start_from():
    assert words.letters_per_line(context(None)) == words.letters_per_line(context(280))


@pytest.mark.parametrize("width", [100, 200, 280, 400, 2000])
@pytest.mark.parametrize("beside", [0, 6])
def test_no_word_is_lost_and_no_line_too_long(width, beside):
    where = context(width)
    lines = [text for text, _ in drawn(SENTENCE, where, icon="INFO", beside=beside)]
    assert " ".join(lines) == SENTENCE
    assert max(map(len, lines)) <= words.letters_per_line(where) - beside


def test_the_icon_stands_before_the_first_line_and_the_others_are_as_far_in():
    icons = [icon for _, icon in drawn(SENTENCE, context(), icon="CANCEL")]
    assert len(icons) > 2
    assert icons == ["CANCEL", *["BLANK1"] * (len(icons) - 1)]
    assert {icon for _, icon in drawn(SENTENCE, context())} == {"NONE"}


def test_no_words_are_one_empty_line():
    assert drawn("", context(), icon="INFO") == [("", "INFO")]


@pytest.mark.parametrize(("width", "narrow"), [(220, True), (300, False), (500, False)])
def test_a_narrow_sidebar_has_buttons_below_one_another_and_a_line_more(width, narrow):
    where, layout = context(width), Column()
    assert words.is_narrow(where) is narrow
    assert words.beside(layout, where) is (layout if narrow else "row")
    sentence = "It folds back, on 3 sheets. Add openings, or go on."
    words.still_paragraph(layout, where, sentence, lines=2)
    lines = [text for text, _ in layout.labels]
    assert len(lines) == (3 if narrow else 2)
    # the whole sentence is there at every width
    assert " ".join(lines).strip() == sentence
