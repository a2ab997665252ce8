"""Whoever is shown material is told how to handle it: every operation of the contract is asked, by its example.

The examples are what a server really answered (`test_examples.py`), so this asks the operations and not only words.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).parents[2] / "openapi"
CONTRACT: dict[str, Any] = yaml.safe_load((ROOT / "openapi.yaml").read_text("utf-8"))
#: What a schema speaks of when it shows or plans material that somebody is going to handle.
MATERIAL = frozenset(
    {
        "taxon", "treatments_used", "lines", "lots", "containers", "trays", "placed", "layouts", "parcels", "shares",
        "steps", "alternatives", "freezer_loads", "subject", "specimens",
    }
)  # fmt: skip
#: Answers that speak of material and leave the cautions to another one, each with where they stand and why.
ELSEWHERE = {
    "get_fit_check_inputs": "what was asked; the fit check says it",
    "get_housing_plan_inputs": "what was asked; the plan says it",
    "list_desk": "a list of work; each transfer says it",
    "list_facts": "the ledger: who had what when; the transfer says it",
    "list_quarantines": "a list; each quarantine says it",
    "list_due_inspections": "a list; each quarantine says it",
    "list_lots_held": "sums of the ledger; each line of a transfer says it",
    "list_taxa_held": "sums of the ledger",
    "list_collection_health": "shares of curation levels, for nobody's hands",
    "upload_lots": "a receipt; the list of lots says it",
}


def answers() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every operation that answers in JSON, with the schema of its answer."""
    for methods in CONTRACT["paths"].values():
        for described in methods.values():
            if isinstance(described, dict) and "operationId" in described:
                for status in ("200", "201"):
                    shown = described["responses"].get(status, {}).get("content", {}).get("application/json")
                    if shown:
                        yield described["operationId"], resolved(shown["schema"])


def resolved(schema: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in schema:
        schema = CONTRACT["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
    return schema


def speaks_of(schema: dict[str, Any]) -> set[str]:
    """The names of an answer's fields, and of what a page of a list has for items."""
    names = set(schema.get("properties", {}))
    items = schema.get("properties", {}).get("items", {}).get("items")
    return names | (set(resolved(items).get("properties", {})) if items else set())


ABOUT_MATERIAL = sorted({name for name, schema in answers() if speaks_of(schema) & MATERIAL})
SAY_IT = sorted({name for name, schema in answers() if "handling" in schema.get("properties", {})})


def test_every_answer_about_material_says_how_to_handle_it_or_where_that_stands() -> None:
    silent = set(ABOUT_MATERIAL) - set(SAY_IT)
    assert silent - set(ELSEWHERE) == set(), "let them answer with `handling`, or say here where it stands"
    assert set(ELSEWHERE) - silent == set(), "these say it by now, or are there no more"


@pytest.mark.parametrize("operation", SAY_IT)
def test_what_was_really_answered_names_residues_or_that_nobody_stated_any(operation: str) -> None:
    example = json.loads((ROOT / "examples" / f"{operation}.json").read_text("utf-8"))
    told = list(cautions_in(example))
    assert told, "the example shows no `handling`"
    for caution in told:
        assert caution["sentence"]
        assert caution["source"]


def cautions_in(said: Any) -> Iterator[dict[str, Any]]:
    if isinstance(said, dict):
        yield from said.get("handling", ())
        for value in said.values():
            yield from cautions_in(value)
    elif isinstance(said, list):
        for value in said:
            yield from cautions_in(value)
