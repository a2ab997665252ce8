"""Prices that prove a bound."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Prices:
    """Of one tray of each kind and of one drawer of each limited type.

    What a drawer can hold is worth no more than its cost and the price of its limit; so no plan costs less than
    ``value``, the worth of all trays less the prices of all limits.
    """

    kinds: tuple[float, ...]
    limits: tuple[float, ...]
    value: float
