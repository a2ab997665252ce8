"""The file about a data set, in the Ecological Metadata Language."""

import re
from dataclasses import dataclass
from datetime import date
from xml.sax.saxutils import escape as escaped

#: Control characters that no XML 1.0 may hold, however they are written.
_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class About:
    """What stands in the file about the data set. ``made_on`` is given, so that the same lots give the same bytes."""

    title: str
    institution: str
    made_on: date
    abstract: str = ""
    rights: str = ""
    language: str = "en"


def eml(about: About) -> str:
    """As much of the Ecological Metadata Language (2.2.0) as it demands, and what else is known."""
    party = f"<organizationName>{escape(about.institution)}</organizationName>"
    told = "".join(
        f"<{name}><para>{escape(text)}</para></{name}>"
        for name, text in (("abstract", about.abstract), ("intellectualRights", about.rights))
        if text
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<eml:eml xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0" packageId="lots" system="local">'
        f"<dataset><title>{escape(about.title)}</title><creator>{party}</creator>"
        f"<pubDate>{about.made_on.isoformat()}</pubDate><language>{escape(about.language)}</language>{told}"
        f"<contact>{party}</contact></dataset></eml:eml>\n"
    )


def escape(text: str) -> str:
    """Text as it stands in XML."""
    return escaped(_NOT_IN_XML.sub("", text))
