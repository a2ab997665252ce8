"""What can hurt people or specimens, in words for the person who does the work."""

from collections.abc import Mapping
from functools import cache

from service.core.handbook.entries import Caution
from service.core.handbook.loader import Row, backing, found, required, table
from service.core.handbook.words import every, word
from service.core.materials import Treatment


@cache
def _people() -> Mapping[Treatment, Caution]:
    rows = every(Treatment, table("cautions")["people"], "people")
    last_word = f" {local_rules()}"
    return {treatment: _caution(row, f"people.{treatment}", last_word) for treatment, row in rows.items()}


def local_rules() -> str:
    """The sentence that ends every caution for people: this service never says that something is allowed."""
    return required(table("cautions"), "local_rules", "cautions")


@cache
def _specimens() -> Mapping[Treatment, Caution]:
    rows = table("cautions")["specimens"]
    return {word(Treatment, name): _caution(row, f"specimens.{name}") for name, row in rows.items()}


@cache
def _work() -> Mapping[str, Caution]:
    return {name: _caution(row, f"work.{name}") for name, row in table("cautions")["work"].items()}


def _caution(row: Row, where: str, last_word: str = "") -> Caution:
    behind = backing(row, where, "text")
    return Caution(required(row, "text", where) + last_word, behind.source, behind.grade, behind.cited)


def people_caution(treatment: Treatment) -> Caution:
    """The usual caution for people near a treatment. It ends with local rules and licensed practice.

    :raises NotInHandbook: when the word is no treatment.
    """
    return _people()[word(Treatment, treatment)]


def specimen_caution(treatment: Treatment) -> Caution | None:
    """What a treatment does to specimens and labels; ``None`` where nothing was found, which does not mean nothing.

    :raises NotInHandbook: when the word is no treatment.
    """
    return _specimens().get(word(Treatment, treatment))


def work_caution(name: str) -> Caution:
    """The caution that goes with a piece of work, such as ``open_when_warm`` or ``old_residues``.

    :raises NotInHandbook: with the names that there are.
    """
    return found(_work(), name, "caution for the work")
