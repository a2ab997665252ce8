"""What is refused in a transfer. Each refusal carries its data, and a sentence for the person who asked."""

from service.core.errors import Conflict


class RefusedStep(Conflict):
    """A step that cannot be taken as things stand. ``missing`` is a stable word for the fact that is wanting."""

    def __init__(self, step: str, missing: str, message: str) -> None:
        super().__init__("step-refused", message, step=step, missing=missing)
        self.step = step
        self.missing = missing


class Unbalanced(Conflict):
    """Postings of one movement that do not sum to zero for a line; ``surplus`` is what they sum to."""

    def __init__(self, line: str, surplus: int) -> None:
        super().__init__("unbalanced", f"The postings for line {line} sum to {surplus:+d}; a movement sums to zero.")
        self.line = line
        self.surplus = surplus


class BelowZero(Conflict):
    """A movement would take more of a line from an account than it held on that day."""

    def __init__(self, line: str, account: str, on: str, short_by: int) -> None:
        super().__init__(
            "below-zero",
            f"Line {line}: {short_by} more would leave “{account}” than were there on {on}."
            " Count again; if the count is right, report the difference instead.",
            line=line,
        )
        self.line = line
        self.account = account
        self.on = on
        self.short_by = short_by


class MoreThanLent(Conflict):
    """More is accounted for than was ever lent; ``by`` is how many."""

    def __init__(self, lent: int, by: int) -> None:
        super().__init__(
            "more-than-lent", f"{lent + by} are accounted for and only {lent} were lent: {by} too many. Count again."
        )
        self.lent = lent
        self.by = by


class NeedsOverride(Conflict):
    """The lender's own rules speak against a step; ``codes`` are those that nobody went over."""

    def __init__(self, step: str, codes: tuple[str, ...], message: str) -> None:
        wanted = ", ".join(dict.fromkeys(codes))
        super().__init__(
            "override-needed",
            f"{message} To do it all the same, give an override with a name, a reason and the codes: {wanted}.",
            step=step,
            codes=list(dict.fromkeys(codes)),
        )
        self.step = step
        self.codes = tuple(dict.fromkeys(codes))
