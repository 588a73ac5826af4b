"""Stocks: what is packaged, what files are refused, and unit conversions behind the values."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import pytest
from stowfold.geometry.board.stock import Grain, Stock, check_stock, find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError, UnreadableError

#: NIST Special Publication 811, appendix B.
MPA_PER_PSI = 0.006894757
STOCKS = read_stocks()
ENTRY = """
[[stock]]
name = "mine"
label = "my board"
thickness = 3
thickness_tolerance = 0.1
kerf = 0.2
shear_modulus = 600
elastic_modulus = 9000
shear_limit = 3
cross_tension = 2
link_width = 0.8
bridge = 3
sheet = [600, 300]
grain = "length"
calibration = "coupon of two folds, batch 4"
"""


def _written(folder: Path, text: str) -> Path:
    path = folder / "stocks.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_packaged_stocks() -> None:
    assert [stock.name for stock in STOCKS] == [
        "birch-plywood-3",
        "basswood-3.2",
        "mdf-3",
        "grey-board-2",
        "cast-acrylic-3",
        "birch-plywood-1.5",
    ]
    assert [stock.sheet for stock in STOCKS] == [
        *((600, 300), (610, 305), (600, 300), (420, 297), (600, 300)),
        (600, 300),
    ]
    assert [stock.grain for stock in STOCKS] == [
        *(Grain.CROSSED, Grain.LENGTH, Grain.NONE, Grain.NONE, Grain.NONE),
        Grain.CROSSED,
    ]
    assert all(stock.calibration is None for stock in STOCKS)


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_every_value_names_its_source(stock: Stock) -> None:
    values = {field.name for field in fields(Stock)} - {"name", "label", "calibration", "sources"}
    values -= {"slide", "press", "glue", "price", "measured"}  # no catalogue knows these
    values -= {name for name in ("thickness_under", "thickness_over") if getattr(stock, name) is None}
    assert set(stock.sources) == values
    assert all(text.strip() for text in stock.sources.values())


def test_basswood_follows_the_published_strengths() -> None:
    """American basswood at 12 per cent moisture: shear 990 psi, across the grain 350 psi, bending modulus
    1.46 million psi (species tables after the Wood Handbook, FPL-GTR-282). Limits are two thirds."""
    stock = find_stock("basswood-3.2", STOCKS)
    assert stock.shear_limit == pytest.approx(990 * MPA_PER_PSI * 2 / 3, abs=0.005)
    assert stock.cross_tension == pytest.approx(350 * MPA_PER_PSI * 2 / 3, abs=0.005)
    assert stock.elastic_modulus == pytest.approx(1.46e6 * MPA_PER_PSI * 1.10, rel=1e-3)
    # G = sqrt(G_LR G_LT), ratios to E_L from table 5-1 of the same handbook, from memory.
    assert stock.shear_modulus == pytest.approx(stock.elastic_modulus * (0.056 * 0.046) ** 0.5, rel=2e-3)


def test_acrylic_follows_the_published_design_stress() -> None:
    """Cast acrylic carries 1500 psi for long (a supplier's table of design stresses)."""
    stock = find_stock("cast-acrylic-3", STOCKS)
    assert stock.cross_tension == pytest.approx(1500 * MPA_PER_PSI, rel=0.005)
    assert stock.shear_modulus == pytest.approx(stock.elastic_modulus / (2 * 1.37), rel=1e-3)


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_kerf_and_features_are_plausible(stock: Stock) -> None:
    """Shops quote 0.08 to 0.45 mm of kerf over all materials; a quarter of the thickness for links is practice."""
    assert 0.08 <= stock.kerf <= 0.45
    assert stock.link_width >= max(0.25 * stock.thickness, 0.8) - 1e-9
    assert stock.bridge >= max(0.7 * stock.thickness, 2.0) - 1e-9


def test_own_file_is_read(tmp_path: Path) -> None:
    (stock,) = read_stocks(_written(tmp_path, ENTRY))
    assert (stock.name, stock.thickness, stock.sheet, stock.grain) == ("mine", 3.0, (600.0, 300.0), Grain.LENGTH)
    assert stock.calibration == "coupon of two folds, batch 4"
    assert dict(stock.sources) == {}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no .*stock"),
        ("stock = 3", "no .*stock"),
        (ENTRY[: len(ENTRY) // 2 - 3], "not valid TOML|lacks the value"),
        ("[[stock]\n", "not valid TOML"),
        (ENTRY.replace("kerf = 0.2\n", ""), "lacks the value kerf"),
        (ENTRY.replace("kerf", "curf"), "unknown value curf"),
        (ENTRY.replace("kerf = 0.2", 'kerf = "thin"'), "kerf = 'thin'.*number"),
        (ENTRY.replace("kerf = 0.2", "kerf = true"), "kerf = True.*number"),
        (ENTRY.replace("[600, 300]", "[600]"), "length and width"),
        (ENTRY.replace('"length"', '"diagonal"'), "diagonal"),
        (ENTRY.replace('"length"', "3"), "text is needed"),
        (ENTRY + ENTRY, "mine 2 times"),
    ],
)
def test_torn_files_are_refused_in_one_sentence(tmp_path: Path, text: str, words: str) -> None:
    path = _written(tmp_path, text)
    with pytest.raises(UnreadableError, match=words) as caught:
        read_stocks(path)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_missing_and_binary_files_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="cannot be read"):
        read_stocks(tmp_path / "none.toml")
    with pytest.raises(UnreadableError, match="cannot be read"):
        read_stocks(tmp_path)
    (tmp_path / "noise.toml").write_bytes(b"\xff\xfe\x00stock")
    with pytest.raises(UnreadableError, match="not valid TOML"):
        read_stocks(tmp_path / "noise.toml")


def test_bad_value_in_a_file_is_a_bad_setting(tmp_path: Path) -> None:
    with pytest.raises(BadSettingError, match="thickness of my board is -3 mm"):
        read_stocks(_written(tmp_path, ENTRY.replace("thickness = 3", "thickness = -3")))


def test_unknown_name_lists_the_known_ones() -> None:
    assert find_stock("mdf-3", STOCKS).label == "MDF 3 mm"
    with pytest.raises(BadSettingError, match=r"'oak'; known are birch-plywood-3, basswood-3\.2, mdf-3"):
        find_stock("oak", STOCKS)
    with pytest.raises(BadSettingError, match="known are none"):
        find_stock("oak", ())


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"thickness": 0.0}, "thickness .* is 0 mm"),
        ({"thickness": float("nan")}, "thickness .* is nan mm"),
        ({"kerf": -0.1}, "kerf .* is -0.1 mm"),
        ({"kerf": 3.0}, "less than the thickness of 3 mm"),
        ({"sheet": (0.0, 300.0)}, "sheet length"),
        ({"sheet": (600.0, -1.0)}, "sheet width"),
        ({"sheet": (300.0, 600.0)}, "longer side comes first"),
        ({"shear_modulus": 0.0}, "shear modulus"),
        ({"elastic_modulus": float("inf")}, "elastic modulus"),
        ({"shear_limit": -2.0}, "shear limit"),
        ({"cross_tension": 0.0}, "cross tension"),
        ({"link_width": 0.0}, "narrowest link"),
        ({"bridge": 0.0}, "shortest bridge"),
        ({"thickness_tolerance": 3.0}, "tolerance"),
    ],
)
def test_impossible_boards_are_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(BadSettingError, match=words):
        check_stock(replace(find_stock("mdf-3", STOCKS), **change))
