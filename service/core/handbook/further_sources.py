"""What stands behind the rows of the tables whose sources are in ``timber_sources.toml``."""

from collections.abc import Mapping
from functools import cache

from service.core.handbook.entries import HandbookFault, Source, Standing
from service.core.handbook.loader import Backing, Row, found, refuse_strangers, required, table
from service.core.measure.dimension import Grade

_BACKING_FIELDS = frozenset({"sources", "grade", "note", "recalled_from"})


@cache
def further_sources() -> Mapping[str, Source]:
    """The published sources on timber and tolerances, by their keys."""
    return {
        key: Source(key, required(row, "reference", key), Standing(required(row, "standing", key)))
        for key, row in table("timber_sources").items()
    }


def further_backing(row: Row, where: str, *own_fields: str) -> Backing:
    """Where a row comes from, checked by the same rules as in every other table.

    :raises HandbookFault: when the row does not say, or says it in a way that its grade does not allow.
    """
    refuse_strangers(row, _BACKING_FIELDS | set(own_fields), where)
    citations, recalled_from = tuple(row.get("sources", ())), row.get("recalled_from")
    grade = Grade(required(row, "grade", where))
    if (grade is Grade.PUBLISHED) != bool(citations) or (grade is Grade.FROM_MEMORY) != bool(recalled_from):
        raise HandbookFault(
            f"{where} is graded {grade.value}: a published row, and no other here, cites a source; a row from "
            "memory, and no other, says recalled_from."
        )
    keys = tuple(citation.partition(", ")[0] for citation in citations)
    if grade is Grade.FROM_MEMORY:
        return Backing(f"From memory, not confirmed: {recalled_from}", keys, grade, row.get("note"))
    if grade is Grade.COMMON_PRACTICE:
        return Backing("Common practice, no published source", keys, grade, row.get("note"))
    return Backing("; ".join(map(_reference, citations)), keys, grade, row.get("note"))


def _reference(citation: str) -> str:
    """``"wood-handbook-2010, p. 4-5"`` as the full reference with its page."""
    key, comma, page = citation.partition(", ")
    return f"{found(further_sources(), key, 'source').reference}{comma}{page}"
