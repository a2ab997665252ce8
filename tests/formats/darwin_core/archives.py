"""Archives of a few lines, as others make them."""

import io
import zipfile
from typing import Any

from service.formats.darwin_core.holder import Limits
from service.formats.darwin_core.reading import Record, open_archive
from service.formats.darwin_core.report import Report

DWC = "http://rs.tdwg.org/dwc/terms/"
META = """<archive xmlns="http://rs.tdwg.org/dwc/text/"{archive}>
<core rowType="http://rs.tdwg.org/dwc/terms/Occurrence" {core}><files><location>{file}</location></files>
<id index="0"/>{fields}</core>{more}</archive>"""


def fields(*terms: str) -> str:
    return "".join(f'<field index="{index}" term="{DWC}{term}"/>' for index, term in enumerate(terms))


def meta(
    *terms: str, core: str = "", more: str = "", archive: str = "", file: str = "o.csv", extra: str = ""
) -> bytes:
    named = fields(*(terms or ("occurrenceID", "scientificName", "locality"))) + extra
    return META.format(core=core, more=more, archive=archive, file=file, fields=named).encode()


def packed(**files: bytes) -> io.BytesIO:
    """A zip file; double underscores in a name are points, since a keyword holds none."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name.replace("__", "."), content)
    out.seek(0)
    return out


def read(source: Any, **limits: int) -> tuple[list[Record], Report]:
    with open_archive(source, Limits(**limits)) as archive:
        return list(archive.records()), archive.report


def read_core(data: bytes, descriptor: bytes = meta()) -> tuple[list[dict[str, str]], dict[str, int]]:
    records, report = read(packed(meta__xml=descriptor, o__csv=data))
    return [record.values for record in records], report.kinds()
