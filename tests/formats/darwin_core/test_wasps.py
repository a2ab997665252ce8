"""A real archive: parasitic wasps, public repository seltmann/darwin-core at commit 1ac8b1c (CC0), which is kept
beside the project and not in it. Its figures were counted with another reader.
"""

import io
from collections import Counter
from datetime import date
from pathlib import Path

import pytest

from service.core.consignment import Container
from service.core.transfers.lines import TypeStatus
from service.formats.darwin_core.consignments import consignment_requests
from service.formats.darwin_core.lots import lots
from service.formats.darwin_core.reading import open_archive
from service.formats.darwin_core.writing import About, terms_told, write_archive
from service.web.schemas.consignment import LineSchema

WASPS = Path(__file__).parents[4] / "shared" / "data" / "wasps"
pytestmark = pytest.mark.skipif(not WASPS.is_dir(), reason="the wasps are not beside the project")


@pytest.fixture(scope="module")
def wasps():
    with open_archive(WASPS) as archive:
        return list(lots(archive)), archive.report


def test_1342_records_are_1342_lots_with_16_holotypes_and_351_paratypes(wasps):
    read, report = wasps
    assert report.records == len(read) == 1_342
    assert Counter(lot.line.type_status for lot in read) == {
        None: 975, TypeStatus.HOLOTYPE: 16, TypeStatus.PARATYPE: 351,
    }  # fmt: skip


def test_blanks_are_blanks_and_are_counted(wasps):
    read, report = wasps
    assert sum(not lot.line.catalogue_numbers for lot in read) == 196
    assert sum(lot.institution is None for lot in read) == 185
    assert sum(lot.institution == "CNCI" for lot in read) == 1_141
    assert report.tables[0].filled["catalogNumber"] == 1_146


def test_what_is_odd_is_told(wasps):
    _, report = wasps
    assert report.kinds() == {"metadata-missing": 1, "count-not-stated": 1_342, "not-a-name": 1}
    (shifted,) = [oddity for oddity in report.oddities.values() if oddity.kind == "not-a-name"]
    assert "Scalenus hemipterus" in shifted.detail


def test_they_make_a_consignment_that_this_service_takes(wasps):
    read, _ = wasps
    lines = [LineSchema().load(request) for request in consignment_requests(read, Container.UNIT_TRAY)]
    assert sum(line.specimens for line in lines) == 1_342
    assert len(lines) == len({(lot.line.groups, lot.line.taxon) for lot in read})


def test_they_go_out_and_come_in_again_as_they_were(wasps):
    read, _ = wasps
    out = io.BytesIO()
    counts = write_archive(out, read, About("Wasps", "HM", date(2026, 1, 2)), terms_told(read))
    assert (counts.lots, counts.not_written) == (1_342, {})
    with open_archive(out) as archive:
        assert list(lots(archive)) == read
