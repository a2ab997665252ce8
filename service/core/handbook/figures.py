"""The trade's figures, one by one."""

from collections.abc import Mapping
from functools import cache

from service.core.handbook.entries import Figure
from service.core.handbook.loader import found, table
from service.core.handbook.styles import style_figures
from service.core.handbook.written import read_figure


@cache
def figures() -> Mapping[str, Figure]:
    """Every figure by its key: ``lid.air_gap_least``, and the drawer styles' ``cornell.outer.width`` as well."""
    single = {
        (key := f"{topic}.{name}"): read_figure(row, key)
        for topic, rows in table("figures").items()
        for name, row in rows.items()
    }
    return {**single, **style_figures()}


def figure(key: str) -> Figure:
    """One figure.

    :raises NotInHandbook: with the keys that there are.
    """
    return found(figures(), key, "figure")
