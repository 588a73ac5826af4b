"""Profiles of lasers are read as written, and what cannot be is refused in one sentence."""

from __future__ import annotations

from dataclasses import replace

import pytest
from parts_by_hand import make_stock
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.beam.lasers import check_laser, find_laser, read_lasers, stock_on
from stowfold.geometry.errors import BadSettingError, UnreadableError


def written(tmp_path, text):
    path = tmp_path / "lasers.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_our_own_lasers_pass_and_the_first_is_the_default():
    lasers = read_lasers()
    assert [laser.name for laser in lasers] == ["hobby", "diode", "workshop"]
    assert replace(lasers[0], label="") == replace(Laser(), label="")


def test_a_makers_file(tmp_path):
    path = written(
        tmp_path,
        '[[laser]]\nname = "shed"\nbed = [700, 400]\nkerf = 0.15\nholds = 2\n'
        '[laser.feeds.outer]\nspeed = 9.5\npasses = 2\n[laser.colours]\nouter = "#ff0000"\n',
    )
    (laser,) = read_lasers(path)
    assert laser.bed == (700.0, 400.0) and laser.kerf == 0.15 and laser.holds == 2 and laser.label == "shed"
    assert laser.feeds[Operation.OUTER] == Feed(9.5, 0.1, 2) and laser.feeds[Operation.SLITS] == Feed(6.0)
    assert laser.colours[Operation.OUTER] == "#ff0000" and laser.colours[Operation.SLITS] == "#b5179e"
    assert find_laser("shed", [laser]) is laser
    with pytest.raises(BadSettingError, match="no laser named 'barn'; known are shed"):
        find_laser("barn", [laser])


@pytest.mark.parametrize(
    ("text", "error", "words"),
    [
        ("", UnreadableError, r"holds no \[\[laser\]\]"),
        ("[[laser]", UnreadableError, "not valid TOML"),
        ('[[laser]]\nname = "a"\nbde = [1, 2]', UnreadableError, "unknown value bde"),
        ("[[laser]]\nbed = [1, 2]", UnreadableError, "lacks the value name"),
        ('[[laser]]\nname = "a"\nbed = 5', UnreadableError, "width and depth"),
        ('[[laser]]\nname = "a"\nholds = 1.5', UnreadableError, "whole number"),
        ('[[laser]]\nname = "a"\n[laser.feeds.weld]\nspeed = 1', UnreadableError, "weld"),
        ('[[laser]]\nname = "a"\n[laser.feeds.outer]\npower = 1', UnreadableError, "speed, pierce, passes"),
        ('[[laser]]\nname = "a"\n[[laser]]\nname = "a"', UnreadableError, "a 2 times"),
        ('[[laser]]\nname = "a"\nbed = [0, 300]', BadSettingError, "bed's width of laser a is 0"),
    ],
)
def test_files_that_cannot_be_used(tmp_path, text, error, words):
    with pytest.raises(error, match=words):
        read_lasers(written(tmp_path, text))


def test_a_missing_file(tmp_path):
    with pytest.raises(UnreadableError, match="cannot be read"):
        read_lasers(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"bed": (600.0, 0.0)}, "bed's depth"),
        ({"bed": (float("nan"), 300.0)}, "bed's width"),
        ({"travel": 0.0}, "travel"),
        ({"acceleration": -1.0}, "acceleration"),
        ({"kerf": 0.0}, "kerf"),
        ({"margin": -1.0}, "margin"),
        ({"margin": 150.0}, "nothing is left"),
        ({"holds": -1}, "holds"),
        ({"hold_length": 0.0}, "hold length"),
        ({"feeds": {**Laser().feeds, Operation.SLITS: Feed(0.0)}}, "speed of slits"),
        ({"feeds": {**Laser().feeds, Operation.SLITS: Feed(1.0, -1.0)}}, "pierce"),
        ({"feeds": {**Laser().feeds, Operation.SLITS: Feed(1.0, 0.0, 0)}}, "pass"),
        ({"feeds": {}}, "lacks feed"),
        ({"colours": {**Laser().colours, Operation.SLITS: "red"}}, "write it like"),
        ({"colours": {**Laser().colours, Operation.SLITS: "#3D405B"}}, "same colour"),
    ],
)
def test_numbers_that_no_laser_has(changes, words):
    check_laser(Laser())
    with pytest.raises(BadSettingError, match=words):
        check_laser(replace(Laser(), **changes))


def test_the_lasers_own_kerf_counts():
    stock = make_stock()
    assert stock_on(stock, Laser()) is stock
    assert stock_on(stock, Laser(kerf=0.12)).kerf == 0.12
    with pytest.raises(BadSettingError, match="less than the thickness"):
        stock_on(stock, Laser(kerf=3.5))
