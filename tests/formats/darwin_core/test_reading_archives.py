"""Archives by the Darwin Core text guide (TDWG, issue of 2023-09-13), and as people really make them."""

import pytest
from archives import DWC, meta, packed, read, read_core
from hypothesis import given
from hypothesis import strategies as st

from service.formats.darwin_core.report import BadArchive
from service.formats.darwin_core.terms import LOAN

ROWS = b"1,Carabus auratus,Wald\n2,Cetonia aurata,Wiese\n"
TWO = [
    {"occurrenceID": "1", "scientificName": "Carabus auratus", "locality": "Wald"},
    {"occurrenceID": "2", "scientificName": "Cetonia aurata", "locality": "Wiese"},
]


def test_what_the_descriptor_leaves_out_is_as_the_guide_says():
    """Section 2.2: fields end with a comma, lines with a line feed, quotes enclose, UTF-8, no header lines."""
    assert read_core(ROWS) == (TWO, {})


@pytest.mark.parametrize(
    ("core", "data"),
    [
        (r'fieldsTerminatedBy="\t"', ROWS.replace(b",", b"\t")),
        ('fieldsTerminatedBy="&#9;"', ROWS.replace(b",", b"\t")),
        ('fieldsTerminatedBy="|" fieldsEnclosedBy=""', ROWS.replace(b",", b"|")),
        ('fieldsTerminatedBy="||"', ROWS.replace(b",", b"||")),
        ('fieldsEnclosedBy="\'"', ROWS.replace(b"Wald", b"'Wald'")),
        (r'linesTerminatedBy="\r\n"', ROWS.replace(b"\n", b"\r\n")),
        (r'linesTerminatedBy="\r"', ROWS.replace(b"\n", b"\r")),
        (r'linesTerminatedBy="\n"', ROWS.replace(b"\n", b"\r\n")),
        (r'linesTerminatedBy="\r\n"', ROWS),
        (r'linesTerminatedBy="\n"', ROWS.replace(b"\n", b"\r")),
        ('linesTerminatedBy=";;"', ROWS.replace(b"\n", b";;")),
        ("", ROWS.rstrip(b"\n")),
        ("", b"\xef\xbb\xbf" + ROWS),
        ("", b"\n" + ROWS.replace(b"\n", b"\n\n")),
        ('ignoreHeaderLines="1"', b"occurrenceID,scientificName,locality\n" + ROWS),
        ('ignoreHeaderLines="3"', b"made by hand\n\ndwc:occurrenceID,dwc:scientificName,dwc:locality\n" + ROWS),
        ('encoding="UTF-16"', ROWS.decode().encode("utf-16")),
        ('encoding="utf-8"', b'"1","Carabus auratus","Wald"\n"2","Cetonia aurata","Wiese"\n'),
    ],
)
def test_however_a_table_is_written_it_says_the_same(core, data):
    values, _ = read_core(data, meta(core=core))
    assert values == TWO


@pytest.mark.parametrize("encoding", ["ISO-8859-1", "Windows-1252", "UTF-8", "UTF-16"])
def test_names_survive_in_the_encoding_that_is_stated(encoding):
    values, odd = read_core("1,Müller–Håkansson,Øresund\n".encode("cp1252" if encoding[0] in "IW" else encoding),
                            meta(core=f'encoding="{encoding}"'))  # fmt: skip
    assert encoding == "ISO-8859-1" or values[0]["scientificName"] == "Müller–Håkansson"
    assert values[0]["locality"] == "Øresund"
    assert odd == {}


def test_bytes_of_another_encoding_than_stated_are_read_as_what_they_are_and_noted():
    values, odd = read_core("1,Müller,São Tomé\n2,Aus,€\n3,Aus,x\n".encode("cp1252"))
    assert [value["locality"] for value in values] == ["São Tomé", "€", "x"]
    assert odd == {"encoding-wrong": 2}
    values, odd = read_core(ROWS.decode().encode("utf-16"))
    assert (values, odd) == (TWO, {"encoding-wrong": 1})
    values, odd = read_core(ROWS, meta(core='encoding="Klingon"'))
    assert (values, odd) == (TWO, {"encoding-unknown": 1})


def test_quoted_newlines_commas_and_quotes_belong_to_their_cell():
    data = b'1,"Carabus\nauratus, ""the golden""","a\r\nb"\n2,Cetonia aurata,Wiese\n'
    values, odd = read_core(data)
    assert values[0] == {
        "occurrenceID": "1",
        "scientificName": 'Carabus\nauratus, "the golden"',
        "locality": "a\r\nb",
    }
    assert values[1] == TWO[1]
    assert odd == {}


def test_a_quote_that_is_never_closed_swallows_no_records():
    data = b'1,"Carabus auratus,Wald\n' + b"".join(b"%d,Aus bus,Ort\n" % number for number in range(2, 1_500))
    values, odd = read_core(data)
    assert len(values) == 1_499
    assert values[0]["scientificName"] == '"Carabus auratus'
    assert odd == {"quote-never-closed": 1}
    values, odd = read_core(b'1,Aus,"Wald\n2,Bus,Ort\n')
    assert ([value["locality"] for value in values], odd) == (['"Wald', "Ort"], {"quote-never-closed": 1})


def test_an_inch_mark_inside_a_cell_is_no_quote():
    values, odd = read_core(b'1,Aus,pin 1 1/2" long\n2,Bus,Ort\n')
    assert ([value["locality"] for value in values], odd) == (['pin 1 1/2" long', "Ort"], {})


def test_a_quoted_cell_that_really_ends_with_a_newline_is_whole():
    values, odd = read_core(b'1,Aus,"Wald\n"\n')
    assert (values[0]["locality"], odd) == ("Wald\n", {})


def test_a_default_without_an_index_holds_for_all_records_and_one_with_an_index_for_empty_cells():
    extra = f'<field term="{DWC}country" default="Austria"/><field index="3" term="{DWC}sex" default="unknown"/>'
    values, _ = read_core(b"1,Aus,Wald,female\n2,Bus,Wiese,\n3,Cus,Moor\n", meta(extra=extra))
    assert [(value["country"], value["sex"]) for value in values] == [
        ("Austria", "female"), ("Austria", "unknown"), ("Austria", "unknown"),
    ]  # fmt: skip


def test_extension_rows_come_with_their_record_and_orphans_are_noted():
    more = (
        '<extension rowType="http://data.ggbn.org/schemas/ggbn/terms/Loan" ignoreHeaderLines="1"><files>'
        '<location>loans.txt</location></files><coreId index="1"/>'
        '<field index="0" term="http://data.ggbn.org/schemas/ggbn/terms/loanIdentifier"/></extension>'
        '<extension rowType="http://example.org/Image"><files><location>gone.txt</location></files>'
        '<coreid index="0"/></extension>'
    )
    loans = b"loanIdentifier,coreid\nL1,2\nL2,2\nL3,99\nL4,\n"
    records, report = read(packed(meta__xml=meta(more=more), o__csv=ROWS, loans__txt=loans))
    assert [record.extensions for record in records] == [
        {}, {LOAN: [{"ggbn:loanIdentifier": "L1"}, {"ggbn:loanIdentifier": "L2"}]},
    ]  # fmt: skip
    assert report.kinds() == {"orphan": 1, "no-identifier": 1, "file-missing": 1}
    assert report.oddities["orphan", "loans.txt"].rows == [4]
    assert [table.records for table in report.tables] == [2, 4, 0]


def test_a_table_may_lie_in_several_files_each_with_its_header():
    descriptor = meta(core='ignoreHeaderLines="1"').replace(b"</location>", b"</location><location>p.csv</location>")
    header = b"occurrenceID,scientificName,locality\n"
    first, second = ROWS.splitlines(keepends=True)
    records, _ = read(packed(meta__xml=descriptor, o__csv=header + first, p__csv=header + second))
    assert [record.values for record in records] == TWO


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("specimens__csv", b"occurrenceID,scientificName,locality\n" + ROWS),
        ("specimens__txt", b"occurrenceID\tscientificName\tlocality\n" + ROWS.replace(b",", b"\t")),
        ("specimens__csv", b'"dwc:occurrenceID";"dwc:scientificName";"dwc:locality"\n' + ROWS.replace(b",", b";")),
        ("specimens__csv", f"{DWC}occurrenceID,{DWC}scientificName,{DWC}locality\n".encode() + ROWS),
    ],
)
def test_without_a_descriptor_the_first_row_names_the_terms(name, data):
    records, report = read(packed(**{name: data, "eml__xml": b"<eml/>"}))
    assert ([record.values for record in records], report.kinds()) == (TWO, {"no-descriptor": 1})


def test_terms_of_other_vocabularies_keep_their_names_apart():
    extra = (
        '<field index="3" term="http://purl.org/dc/terms/modified"/>'
        '<field index="4" term="http://example.org/terms/drawer"/>'
    )
    values, _ = read_core(b"1,Aus,Wald,2020-01-01,D7\n", meta(extra=extra))
    assert values[0]["dcterms:modified"] == "2020-01-01"
    assert values[0]["http://example.org/terms/drawer"] == "D7"


def test_a_folder_somebody_packed_whole_and_a_folder_on_disk_are_read_alike(tmp_path):
    records, _ = read(packed(**{"bundle/meta__xml": meta(), "bundle/o__csv": ROWS}))
    (tmp_path / "META.xml").write_bytes(meta())
    (tmp_path / "o.csv").write_bytes(ROWS)
    assert [record.values for record in records] == [record.values for record in read(tmp_path)[0]] == TWO


@pytest.mark.parametrize(
    ("kind", "data", "descriptor"),
    [
        ("metadata-missing", ROWS, meta(archive=' metadata="eml.xml"')),
        ("short-row", ROWS + b"3,Aus\n", meta()),
        ("identifier-twice", ROWS + b"2,Aus,x\n", meta()),
        ("heading-not-stated", b"occurrenceID,scientificName,locality\n" + ROWS, meta()),
        ("heading-differs", b"occurrenceID,locality,locality\n" + ROWS, meta(core='ignoreHeaderLines="1"')),
        (
            "column-not-described",
            b"occurrenceID,scientificName,locality,sex\n" + ROWS,
            meta(core='ignoreHeaderLines="1"'),
        ),
        ("term-twice", ROWS, meta("occurrenceID", "scientificName", "scientificName")),
        ("column-without-source", ROWS, meta(extra=f'<field term="{DWC}sex"/>')),
        ("null-characters", ROWS.replace(b"Wald", b"Wa\0ld"), meta()),
    ],
)  # fmt: skip
def test_what_is_odd_is_named_once_and_read_all_the_same(kind, data, descriptor):
    values, odd = read_core(data, descriptor)
    assert odd == {kind: 1}
    assert len(values) >= 2


@pytest.mark.parametrize(
    ("files", "sentence"),
    [
        ({"meta__xml": b"<archive/>", "o__csv": ROWS}, "exactly one <core>"),
        ({"meta__xml": b"<archive><core", "o__csv": ROWS}, "no well-formed XML"),
        ({"meta__xml": meta().replace(b"rowType", b"type"), "o__csv": ROWS}, "no rowType"),
        ({"meta__xml": meta().replace(b"<location>o.csv</location>", b""), "o__csv": ROWS}, "names no file"),
        ({"meta__xml": meta(core='ignoreHeaderLines="many"'), "o__csv": ROWS}, "no index"),
        ({"meta__xml": meta(core='encoding="UTF-16-LE"'), "o__csv": b"\x00\xdc\x41"}, "utf-16-le"),
        ({"meta__xml": meta()}, "no file “o.csv”"),
        ({"a__csv": ROWS, "b__csv": ROWS}, "add a meta.xml"),
        ({"readme__md": b""}, "add a meta.xml"),
    ],
)
def test_an_archive_that_cannot_be_read_says_what_would_be_right(files, sentence):
    with pytest.raises(BadArchive, match=sentence):
        read(packed(**files))


CELL = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=8)


@given(
    st.lists(st.tuples(CELL, CELL), max_size=6), st.sampled_from([",", "\t", ";"]), st.sampled_from(["\n", "\r\n"])
)
def test_whatever_stands_in_properly_quoted_cells_is_read_as_it_stands(rows, delimiter, line_end):
    def quoted(cell: str) -> str:
        return '"' + cell.replace('"', '""') + '"'

    lines = [delimiter.join(map(quoted, (str(number), *row))) for number, row in enumerate(rows)]
    core = f'fieldsTerminatedBy="{delimiter}" linesTerminatedBy="{line_end!r}"'.replace("'", "").replace("\t", r"\t")
    values, _ = read_core("".join(line + line_end for line in lines).encode(), meta(core=core))
    told = [{"scientificName": first, "locality": second} for first, second in rows]
    expected = [{term: cell for term, cell in row.items() if cell.strip()} for row in told]
    assert [{term: cell for term, cell in row.items() if term != "occurrenceID"} for row in values] == expected
