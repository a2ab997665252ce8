"""A logger's readings as a spreadsheet: any interval, any clock, every bad cell named."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.care.temperature_log import Reading
from service.formats.readings_csv import read_readings, write_readings
from service.formats.sheet_rows import BadSheet

AT_NINE = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    [
        "time,core_c\n2026-11-02T09:00:00Z,-25.4\n",
        "time;core_c\r\n2026-11-02 09:00;-25,4\r\n",
        "Time\tCore C\n2026-11-02T10:00:00+01:00\t-25.4\n",
        "sep=;\ncore_c;time\n-25.4;2026-11-02 09:00:00\n",
    ],
)
def test_the_usual_dialects_say_the_same(text: str) -> None:
    assert read_readings(text.encode()) == (Reading(AT_NINE, core_c=-25.4),)


def test_a_clock_without_an_offset_is_taken_at_the_one_that_is_stated() -> None:
    (reading,) = read_readings(b"time,air_c\n2026-11-02 10:00,-30\n", "+01:00")
    assert reading.at == AT_NINE


def test_every_bad_cell_is_named() -> None:
    rows = ["noon,-20,", "2026-11-02 09:00,cold,", "2026-11-02 10:00,-20,120", "2026-11-02 11:00,,"]
    text = "\n".join(["time,core_c,oxygen_percent", *rows])
    with pytest.raises(BadSheet) as refused:
        read_readings(text.encode())
    assert [(cell.row, cell.column) for cell in refused.value.faults] == [
        (2, "time"), (3, "core_c"), (4, "oxygen_percent"), (5, "core_c"),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["", "time,core_c\n", "core_c\n-20\n", "time,humidity\n2026-11-02 09:00,50\n"])
def test_a_sheet_without_readings_to_speak_of_is_refused(text: str) -> None:
    with pytest.raises(BadSheet):
        read_readings(text.encode())


def test_one_moment_twice_is_refused() -> None:
    with pytest.raises(BadSheet, match="of this moment already"):
        read_readings(b"time,core_c\n2026-11-02 09:00,-20\n2026-11-02T09:00:00Z,-21\n")


tenths = st.integers(-600, 400).map(lambda number: number / 10)
logged = st.lists(st.one_of(st.none(), tenths), min_size=1, max_size=20)


@given(logged, tenths)
def test_what_is_written_is_read_again(cores: list[float | None], air: float) -> None:
    readings = tuple(
        Reading(AT_NINE + timedelta(minutes=7 * place), core_c=core, air_c=air) for place, core in enumerate(cores)
    )
    assert read_readings(write_readings(readings).encode()) == readings
