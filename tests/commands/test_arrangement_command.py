"""An arrangement plan at the terminal, offline: what it prints, writes, and says of a sheet that cannot be read."""

import csv
from pathlib import Path

from terminal import traybridge

HEADINGS = "room,cabinet,positions_per_column,drawer,position,style,inner_width_mm,inner_depth_mm"
HEADINGS += ",tray,taxon,width_mm,depth_mm"
TAXA = ("Amara", "Amara", "Bembidion", "Carabus", "Carabus")
#: Six trays go into a drawer; the first holds five, the second none.
TRAYS = "\n".join(f",,,D1,,,,,T{n},{taxon},130,190" for n, taxon in enumerate(TAXA))
SHEET = f"{HEADINGS}\nhall,A1,9,D1,1,amble,420,400,,,,\n,A1,,D2,2,amble,420,400,,,,\n{TRAYS}\n"


def test_trays_without_a_drawer_are_taken_in_and_a_walking_list_is_written(tmp_path: Path) -> None:
    sheet, out = tmp_path / "inventory.csv", tmp_path / "plan"
    sheet.write_text(SHEET + ",,,,,,,,N1,Bembidion,130,190\n")
    ended = traybridge("arrangement", "plan", str(sheet), "--alphabet", "--reserve", "0", "--out", str(out))
    assert ended.code == 0, ended.wrong
    assert "0 trays change their drawer, 1 are put in, 0 lifted within theirs (proved the fewest)" in ended.said
    (step,) = csv.DictReader((out / "walking-list-1.csv").read_text("utf-8-sig").splitlines())
    assert (step["tray"], step["to_drawer"], step["place"], step["after"]) == ("N1", "D1", "4", "T2")


def test_a_reserve_is_restored_in_the_institutions_own_sequence(tmp_path: Path) -> None:
    sheet, sequence = tmp_path / "inventory.csv", tmp_path / "sequence.csv"
    sheet.write_text(SHEET)
    sequence.write_text(
        "family,genus,species\n" + "".join(f",{name},\n" for name in ("Carabus", "Bembidion", "Amara"))
    )
    ask = ("arrangement", "plan", str(sheet), "--reserve", "30", "--out", str(tmp_path / "plan"))
    ended = traybridge(*ask, "--sequence", str(sequence), "--restore-reserve")
    assert "1 trays change their drawer" in ended.said, ended.wrong
    assert "--sequence FILE, or --alphabet" in traybridge(*ask).wrong
    assert "nothing to take in" in traybridge(*ask, "--alphabet").wrong


def test_every_bad_cell_of_a_sheet_is_named(tmp_path: Path) -> None:
    sheet = tmp_path / "inventory.csv"
    sheet.write_text(f"{HEADINGS}\n,,,D1,1,amble,,400,T1,Carabus,broad,190\n")
    ended = traybridge("arrangement", "plan", str(sheet), "--alphabet", "--reserve", "0")
    assert ended.code == 1
    assert "row 2, column width_mm: “broad” is not a length" in ended.wrong
    sheet.write_text(f"{HEADINGS}\n,,,D1,1,amble,,400,T1,Carabus,130,190\n")
    assert (
        "row 2, column inner_width_mm: A drawer needs this."
        in traybridge("arrangement", "plan", str(sheet), "--alphabet", "--reserve", "0").wrong
    )
