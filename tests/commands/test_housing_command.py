"""A housing plan at the terminal, offline: what it prints, writes, and says of a sheet that cannot be read."""

import json
from pathlib import Path

import pytest
from terminal import traybridge

SYSTEM = {
    "drawers": [{"code": "own", "name": "Own drawer", "inner": {"width": 450, "depth": 388, "height": 61}}],
    "tray_series": [
        {
            "code": "t",
            "name": "Own trays",
            "play_mm": 0.5,
            "trays": [{"code": "half", "name": "Half", "outer": {"width": 99.5, "depth": 96.5, "height": 41}}],
        }
    ],
    "growth_reserve_percent": 20,
}


@pytest.fixture
def system(tmp_path: Path) -> Path:
    file = tmp_path / "system.json"
    file.write_text(json.dumps(SYSTEM))
    return file


def test_a_plan_is_printed_and_written_with_its_drawings(tmp_path: Path, system: Path) -> None:
    """By hand: 310.4 mm before the strip take 3 rows of 4 half trays, 12 in a drawer; 25 of them take 3 drawers."""
    sheet, out = tmp_path / "trays.csv", tmp_path / "plan"
    sheet.write_text("code;count;label\nhalf;25;Noctuidae\n")
    ended = traybridge("housing", "plan", str(sheet), "--system", str(system), "--out", str(out))
    assert ended.code == 0, ended.wrong
    assert "proved: no layout needs fewer than 3" in ended.said
    assert (out / "plan.txt").read_text() in ended.said
    drawings = sorted(file.name for file in out.glob("*.svg"))
    assert "contact-sheet-1.svg" in drawings
    assert "layout-1.svg" in drawings


def test_taxa_are_housed_by_what_a_tray_holds(tmp_path: Path, system: Path) -> None:
    sheet = tmp_path / "taxa.csv"
    sheet.write_text("taxon,specimens\nNoctua pronuba,65\n")
    ask = ("housing", "plan", str(sheet), "--system", str(system), "--out", str(tmp_path / "plan"))
    assert "3 of 3" in traybridge(*ask, "--tray", "half=30").said
    assert "say what your trays hold" in traybridge(*ask).wrong


def test_every_bad_cell_of_a_sheet_is_named(tmp_path: Path, system: Path) -> None:
    sheet = tmp_path / "trays.csv"
    sheet.write_text("code,count,width_mm\nhalf,many,\nodd,3,1 ell\n")
    ended = traybridge("housing", "plan", str(sheet), "--system", str(system))
    assert ended.code == 1
    assert "row 2, count" in ended.wrong
    assert "row 3, width_mm: “1 ell” is not a length" in ended.wrong


def test_a_system_that_is_none_is_named_with_its_faults(tmp_path: Path) -> None:
    sheet, system = tmp_path / "trays.csv", tmp_path / "system.json"
    sheet.write_text("code,count\nhalf,3\n")
    system.write_text('{"drawers": [{"code": "own"}]}')
    said = traybridge("housing", "plan", str(sheet), "--system", str(system)).wrong
    assert "is no storage system" in said
    assert "/drawers/0/name: This is required." in said
