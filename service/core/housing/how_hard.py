"""How much work a plan is worth, in words."""

from enum import StrEnum

from service.core.housing.effort import THOROUGH, Effort


class HowHard(StrEnum):
    """How much work a plan is worth."""

    USUAL = "usual"
    THOROUGH = "thorough"
    """Many times as much: for when a drawer is dear."""

    @property
    def effort(self) -> Effort:
        return THOROUGH if self is HowHard.THOROUGH else Effort()
