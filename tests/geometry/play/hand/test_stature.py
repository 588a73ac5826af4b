"""Statures: what is packaged, from where, and files that are refused."""

from __future__ import annotations

from dataclasses import fields

import pytest
from stowfold.geometry.errors import BadSettingError, UnreadableError
from stowfold.geometry.play.stature import Stature, find_stature, read_statures

MEASURES = [field.name for field in fields(Stature) if field.name not in ("name", "label", "sources")]
ENTRY = "[[stature]]\nname = 'me'\nlabel = 'myself'\n" + "".join(f"{key} = 50.0\n" for key in MEASURES)
ENTRY = ENTRY.replace("eye = 50.0", "eye = 760.0").replace("acromion = 50.0", "acromion = 570.0")
SOURCES = "[stature.sources]\n" + "".join(f"{key} = 'measured'\n" for key in MEASURES)


def _written(folder, text):
    path = folder / "statures.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_value_says_where_it_comes_from(statures):
    assert [stature.name for stature in statures] == ["small", "median-woman", "median", "median-man", "large", "child"]
    kinds = ("ANSUR II, recomputed: ", "derived", "from memory: ", "common practice, no source")
    for stature in statures:
        assert set(stature.sources) == set(MEASURES)
        assert all(source.startswith(kinds) for source in stature.sources.values())


def test_statures_rise_from_the_child_to_the_large_adult(statures):
    order = [find_stature(name, statures) for name in ("child", "small", "median-woman", "median", "median-man")]
    order.append(find_stature("large", statures))
    for key in ("eye", "acromion", "arm", "forearm"):
        values = [getattr(stature, key) for stature in order]
        assert values == sorted(values)


@pytest.mark.parametrize(
    ("name", "eye", "shoulder"),
    [("small", 705, 509), ("median-woman", 755, None), ("median-man", 795, 595), ("large", 855, 645)],
)
def test_sitting_heights_agree_with_other_surveys(statures, name, eye, shoulder):
    """Eye: German adults of 18 to 65, DIN 33402-2:2005 (secondary copy). Shoulder: F5 of MIL-STD-1472G, British men
    of 19 to 65 (anthropometric tables of the City University of Hong Kong)."""
    stature = find_stature(name, statures)
    assert stature.eye == pytest.approx(eye, rel=0.015)
    if shoulder:
        assert stature.acromion == pytest.approx(shoulder, rel=0.015)


@pytest.mark.parametrize(("name", "british"), [("small", 70), ("median-woman", 75), ("median-man", 85), ("large", 95)])
def test_hand_breadths_agree_with_british_adults(statures, name, british):
    """British adults of 19 to 65, anthropometric tables of the City University of Hong Kong; given in steps of 5."""
    assert find_stature(name, statures).palm_breadth == pytest.approx(british, abs=3.0)


def test_grip_reaches_from_the_back_as_surveyed(statures):
    """Acromion 110 before the back: the arm's grip then comes near DIN 33402-2:2005, forward grip reach 625 to 815."""
    for name, reach in (("small", 625), ("median-woman", 690), ("median-man", 740), ("large", 815)):
        assert find_stature(name, statures).arm + 110 == pytest.approx(reach, rel=0.1)


def test_a_child_is_a_woman_of_middle_size_scaled(statures):
    woman, child = find_stature("median-woman", statures), find_stature("child", statures)
    for key in ("acromion", "arm", "abdomen", "palm_breadth", "hand_length", "forearm"):
        assert getattr(child, key) == pytest.approx(0.85 * getattr(woman, key), rel=0.006)
    assert 724 - 114 <= child.eye <= 728 - 105  # sitting height less what lies between eye and crown


def test_own_file(tmp_path):
    (me,) = read_statures(_written(tmp_path, ENTRY + SOURCES))
    assert (me.name, me.eye, me.sources["arm"]) == ("me", 760.0, "measured")


@pytest.mark.parametrize(
    ("text", "error", "message"),
    [
        ("", UnreadableError, "holds no"),
        ("[[stature", UnreadableError, "not valid TOML"),
        (ENTRY, UnreadableError, "lacks the value sources"),
        (ENTRY + SOURCES.replace("\narm = 'measured'", ""), UnreadableError, "where its arm comes from"),
        (ENTRY.replace("\narm = 50.0", "") + SOURCES, UnreadableError, "lacks the value arm"),
        (ENTRY.replace("\narm = 50.0", "\narm = true") + SOURCES, UnreadableError, "a number is needed"),
        (ENTRY.replace("name = 'me'", "name = 3") + SOURCES, UnreadableError, "text is needed"),
        (ENTRY + "shoe = 42\n" + SOURCES, UnreadableError, "unknown value shoe"),
        (2 * (ENTRY + SOURCES), UnreadableError, "2 times"),
        (ENTRY.replace("\narm = 50.0", "\narm = -1.0") + SOURCES, BadSettingError, "larger than 0"),
        (ENTRY.replace("eye = 760.0", "eye = 500.0") + SOURCES, BadSettingError, "lower than the eye"),
        (ENTRY.replace("finger_low = 50.0", "finger_low = 70.0") + SOURCES, BadSettingError, "shortest finger"),
    ],
)
def test_files_that_are_refused(tmp_path, text, error, message):
    with pytest.raises(error, match=message):
        read_statures(_written(tmp_path, text))


def test_unknown_names_and_files(tmp_path, statures):
    with pytest.raises(BadSettingError, match="known are small, median-woman"):
        find_stature("giant", statures)
    with pytest.raises(UnreadableError, match="cannot be read"):
        read_statures(tmp_path / "none.toml")
