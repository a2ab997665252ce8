"""The names that archives use, and the short ones that this service calls them by."""

DWC = "http://rs.tdwg.org/dwc/terms/"
DCTERMS = "http://purl.org/dc/terms/"
GGBN = "http://data.ggbn.org/schemas/ggbn/terms/"
#: The namespace of the descriptor itself.
TEXT = "http://rs.tdwg.org/dwc/text/"

OCCURRENCE = DWC + "Occurrence"
#: GGBN Loan and Permit extensions (rs.gbif.org, extension/ggbn, issue of 2016-01-13).
LOAN = GGBN + "Loan"
PERMIT = GGBN + "Permit"

#: What a column heading without a descriptor means: terms of Dublin Core that Darwin Core borrows.
_BORROWED = frozenset({
    "accessRights", "bibliographicCitation", "language", "license", "modified", "references", "rightsHolder", "type",
})  # fmt: skip
_PREFIXES = {"dwc": DWC, "dcterms": DCTERMS, "dc": DCTERMS, "ggbn": GGBN}


def short(term: str) -> str:
    """A term as a key: ``catalogNumber`` for Darwin Core's own, ``dcterms:modified``, ``ggbn:loanDate``, and for any
    other its whole address.
    """
    if term.startswith(DWC):
        return term.removeprefix(DWC)
    for prefix, namespace in (("dcterms", DCTERMS), ("ggbn", GGBN)):
        if term.startswith(namespace):
            return f"{prefix}:{term.removeprefix(namespace)}"
    return term


def term_of_heading(heading: str) -> str:
    """The term that a column heading names where there is no descriptor, by the text guide, section 1.1."""
    prefix, colon, name = heading.strip().partition(":")
    if "//" in heading:
        return heading.strip()
    if colon and prefix.lower() in _PREFIXES:
        return _PREFIXES[prefix.lower()] + name
    return (DCTERMS if prefix in _BORROWED else DWC) + prefix


def whole(name: str) -> str:
    """The term that ``short`` made a name of."""
    prefix, colon, rest = name.partition(":")
    if not colon:
        return DWC + name
    return _PREFIXES[prefix] + rest if prefix in _PREFIXES else name
