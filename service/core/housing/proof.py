"""How far a plan is proved, in one word."""

from enum import StrEnum

from service.core.housing.plan import HousingPlan, LayoutClass


class Proof(StrEnum):
    """How far a plan is proved to be the cheapest."""

    PROVED = "proved"
    """No plan at all is cheaper."""
    PROVED_IN_COLUMNS = "proved_in_columns"
    """None is among layouts in columns."""
    NOT_PROVED = "not_proved"
    """A cheaper plan may exist; the bound says by how much at most."""

    @classmethod
    def of(cls, plan: HousingPlan) -> "Proof":
        known = {LayoutClass.ANY: cls.PROVED, LayoutClass.COLUMNS: cls.PROVED_IN_COLUMNS}
        return cls.NOT_PROVED if plan.proved_for is None else known[plan.proved_for]
