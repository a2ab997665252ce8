"""What a printed paper says otherwise than the same paper would say now."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from service.core.papers.content import Block, Content, Fields, Labels, Signatures, Table, Words


@dataclass(frozen=True, slots=True)
class Change:
    """One place of a paper. ``printed`` is empty for what was added since, ``now`` for what is gone."""

    where: str
    printed: str
    now: str


def changes(printed: Content, now: Content) -> tuple[Change, ...]:
    """Every place where two contents differ, in the order of the paper; none when they are equal."""
    if printed == now:
        return ()
    head = _by_name(
        [("Title", printed.title), ("About", printed.about)], [("Title", now.title), ("About", now.about)]
    )
    before, after = ({block.title: block for block in each.blocks} for each in (printed, now))
    titles = dict.fromkeys((*printed.order, *now.order))
    blocks = (change for title in titles for change in _block(title, before.get(title), after.get(title)))
    return (*head, *blocks)


def _block(title: str, printed: Block | None, now: Block | None) -> Iterator[Change]:
    if printed == now:
        return iter(())
    old, new = ([] if block is None else list(_places(block)) for block in (printed, now))
    return (Change(f"{title}: {found.where}", found.printed, found.now) for found in _by_name(old, new))


def _places(block: Block) -> Iterator[tuple[str, str]]:
    """Each place of a block with what stands there."""
    match block:
        case Fields():
            yield from ((field.label, field.value) for field in block.rows)
        case Words():
            yield from ((f"paragraph {at}", text) for at, text in enumerate(block.paragraphs, start=1))
        case Table():
            names = [column.name for column in block.columns]
            for row in block.rows:
                yield from ((f"{row.key}, {name}", cell) for name, cell in zip(names, row.cells, strict=True))
        case Signatures():
            yield from ((f"line {at}", text) for at, text in enumerate(block.lines, start=1))
        case Labels():
            for label in block.labels:
                yield f"{label.key}", " / ".join((label.heading, *label.lines, label.leads_to))


def _by_name(printed: Iterable[tuple[str, str]], now: Iterable[tuple[str, str]]) -> list[Change]:
    old, new = dict(printed), dict(now)
    return [
        Change(name, old.get(name, ""), new.get(name, ""))
        for name in dict.fromkeys((*old, *new))
        if old.get(name, "") != new.get(name, "")
    ]
