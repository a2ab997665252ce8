"""Archives that mean harm, or were packed by somebody who did not look."""

import io
import os
import zipfile

import pytest
from archives import meta, packed, read, read_core

from service.formats.darwin_core.report import BadArchive

ROWS = b"1,Aus,x\n"
BILLION = b"""<!DOCTYPE a [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;">]>"""
OUTSIDE = b"""<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/hostname">]>"""


@pytest.mark.parametrize("declared", [BILLION, OUTSIDE, b'<!DOCTYPE archive SYSTEM "http://example.org/x.dtd">'])
def test_a_descriptor_with_entities_is_refused_before_they_are_read(declared):
    with pytest.raises(BadArchive, match="DOCTYPE"):
        read_core(ROWS, declared + meta())


@pytest.mark.parametrize(
    ("location", "sentence"),
    [
        ("../secret.csv", "leads out"), ("/etc/hostname", "leads out"), ("a/../../secret.csv", "leads out"),
        ("..\\secret.csv", "leads out"), ("http://example.org/o.csv", "lies elsewhere"),
        ("file:///etc/hostname", "lies elsewhere"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("in_a_folder", [True, False])
def test_no_name_leads_out_of_the_archive(location, sentence, in_a_folder, tmp_path):
    descriptor = meta(file=location)
    (tmp_path / "secret.csv").write_bytes(ROWS)
    folder = tmp_path / "archive"
    folder.mkdir()
    (folder / "meta.xml").write_bytes(descriptor)
    with pytest.raises(BadArchive, match=sentence):
        read(folder if in_a_folder else packed(meta__xml=descriptor, o__csv=ROWS))


def test_a_link_in_a_folder_leads_nowhere_outside(tmp_path):
    (tmp_path / "secret.csv").write_bytes(ROWS)
    folder = tmp_path / "archive"
    folder.mkdir()
    (folder / "meta.xml").write_bytes(meta())
    os.symlink(tmp_path / "secret.csv", folder / "o.csv")
    with pytest.raises(BadArchive, match="leads out"):
        read(folder)


def test_a_zip_bomb_is_refused_before_it_goes_off():
    with pytest.raises(BadArchive, match="would swell to 50,000,000 bytes"):
        read(packed(meta__xml=meta(), o__csv=b"0" * 50_000_000))


def test_limits_are_kept_while_reading():
    with pytest.raises(BadArchive, match="more than 3 rows"):
        read(packed(meta__xml=meta(), o__csv=ROWS * 4), rows=3)
    with pytest.raises(BadArchive, match="longer than 1,000 characters"):
        read(packed(meta__xml=meta(), o__csv=b"1," + os.urandom(100_000).hex().encode()), characters_of_record=1_000)
    with pytest.raises(BadArchive, match="more than is taken"):
        read(packed(meta__xml=meta(), o__csv=ROWS * 100), bytes_of_file=500)
    with pytest.raises(BadArchive, match="more than 1 files"):
        read(packed(meta__xml=meta(), o__csv=ROWS), files=1)
    with pytest.raises(BadArchive, match="more elements"):
        read(packed(meta__xml=meta(extra="<x/>" * 6_000), o__csv=ROWS))
    with pytest.raises(BadArchive, match="larger than 50 bytes"):
        read(packed(meta__xml=meta(), o__csv=ROWS), bytes_of_descriptor=50)


def test_what_is_no_zip_or_damaged_is_refused_in_words():
    with pytest.raises(BadArchive, match="no zip file"):
        read(io.BytesIO(b"not a zip file"))
    whole = packed(meta__xml=meta(), o__csv=os.urandom(5_000).hex().encode()).getvalue()
    spoilt = whole[:900] + bytes(byte ^ 0xFF for byte in whole[900:1_000]) + whole[1_000:]
    with pytest.raises(BadArchive, match="damaged"):
        read(io.BytesIO(spoilt))


def test_unusual_packing_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("meta.xml", meta())
    with pytest.raises(BadArchive, match="unusual way"):
        read(out)
