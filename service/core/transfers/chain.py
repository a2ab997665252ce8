"""The chain that ties the facts of a transfer together, so that none can be changed, dropped or slipped in unseen.

Each fact is written as one canonical text (see ``canonical.py``) that contains the SHA-256 of the text before it;
the first contains the hash of its transfer's name. Whoever has the texts can check them with any SHA-256 program.

**Why one chain for each transfer**, and not one for each institution or one over all:

* Both sides can verify it whole. A chain by institution would hold other people's transfers, which the other side may
  not read, so neither side could ever check more than fragments of it.
* Nobody waits for anybody. Writing to a chain means being alone at its end for a moment. At the end of a transfer's
  chain only those stand who work on that transfer; one chain over all would be a lock that every clerk of every
  institution queues for, and would keep the ledger from ever being spread over several machines.
* It ends. A closed transfer has a last hash; it can be archived, exported and handed over complete.

What a chain cannot show by itself is that its tail was cut off, or the whole written anew. For that its head, the
number and hash of its last fact, is handed to the other side with every answer, document and message; ``verify``
takes the head that the other side kept, and finds it or says that it is gone. What a chain by transfer gives up is an
order between transfers. Nothing here needs one: no count ever goes from one transfer to another.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from hashlib import sha256
from typing import cast

from service.core.errors import Conflict
from service.core.transfers.canonical import NotCanonical, Plain, canonical, plain, read
from service.core.transfers.facts import Fact, Override, Recount, Seen, Step, movements
from service.core.transfers.ledger import Account, Move, check_never_below_zero, touching
from service.core.transfers.lines import Condition
from service.core.transfers.parties import Side

FORMAT = 1


@dataclass(frozen=True, slots=True)
class Head:
    """The end of a chain, as it is handed to the other side: ``seq`` is the number of its last link, from 1."""

    seq: int
    digest: str


@dataclass(frozen=True, slots=True)
class Link:
    """One fact in its chain. ``body`` is the text that was hashed, ``digest`` its SHA-256 in hexadecimal."""

    seq: int
    body: bytes
    digest: str

    @property
    def head(self) -> Head:
        return Head(self.seq, self.digest)


@dataclass(frozen=True, slots=True)
class Break:
    """The first link that does not hold, and what is wrong with it."""

    seq: int
    sentence: str


@dataclass(frozen=True, slots=True)
class Written:
    """What the text of a link says."""

    transfer: str
    seq: int
    previous: str
    recorded: datetime
    fact: Fact


def root(transfer: str) -> str:
    """What stands before the first link: the hash of the format's name and the transfer's."""
    return sha256(canonical(["custody chain", FORMAT, transfer])).hexdigest()


def link(transfer: str, last: Link | None, fact: Fact, recorded: datetime) -> Link:
    """The next link of a transfer's chain.

    :raises ValueError: when ``recorded`` does not say its distance from UTC.
    """
    seq, previous = (last.seq + 1, last.digest) if last else (1, root(transfer))
    body = canonical(_as_plain(Written(transfer, seq, previous, recorded, fact)))
    return Link(seq, body, sha256(body).hexdigest())


def _as_plain(written: Written) -> dict[str, Plain]:
    if written.recorded.tzinfo is None:
        raise ValueError("A time without its distance from UTC is no time that two institutions share.")
    return {
        "format": FORMAT,
        "transfer": written.transfer,
        "seq": written.seq,
        "previous": written.previous,
        "recorded": written.recorded.astimezone(UTC).isoformat(timespec="microseconds"),
        "fact": _fact_as_plain(written.fact),
    }


def _fact_as_plain(fact: Fact) -> Plain:
    """Moves as short lists, because a loan of 5,000 lines has 5,000 of them in one fact."""
    moves: list[Plain] = [[move.line, move.source.value, move.target.value, move.count] for move in fact.moves]
    said = cast(dict[str, Plain], plain(replace(fact, moves=())))
    return said | ({"moves": moves} if moves else {})


def verify(transfer: str, links: Sequence[Link], handed_over: Head | None = None) -> Break | None:
    """The first break in a chain, or None when every link holds.

    Holds each text to its hash, to its place and to the canonical way of writing, and the whole to the ledger's law.
    ``handed_over`` is a head that the other side kept: the chain must still contain it.
    """
    previous, facts = root(transfer), []
    for seq, found in enumerate(links, start=1):
        try:
            facts.append(_held(transfer, seq, previous, found))
            check_never_below_zero(touching(movements(facts), frozenset(move.line for move in facts[-1].moves)))
        except (NotCanonical, Conflict) as error:
            return Break(seq, str(error))
        previous = found.digest
    return _lost_head(links, handed_over)


def _held(transfer: str, seq: int, previous: str, found: Link) -> Fact:
    if found.seq != seq:
        raise NotCanonical(f"Link {seq} is missing; the next one there is {found.seq}.")
    if sha256(found.body).hexdigest() != found.digest:
        raise NotCanonical(f"The text of link {seq} does not give the hash beside it: one of them was changed.")
    written = read_link(found.body)
    if (written.transfer, written.seq) != (transfer, seq):
        raise NotCanonical(f"The text at {seq} belongs to link {written.seq} of transfer {written.transfer}.")
    if written.previous != previous:
        raise NotCanonical(f"Link {seq} does not follow the one before it: that one was changed or replaced.")
    return written.fact


def _lost_head(links: Sequence[Link], handed_over: Head | None) -> Break | None:
    if handed_over is None:
        return None
    if len(links) < handed_over.seq:
        sentence = f"The chain ends at {len(links)}; the other side was given link {handed_over.seq}."
        return Break(len(links) + 1, sentence)
    if links[handed_over.seq - 1].digest != handed_over.digest:
        return Break(handed_over.seq, f"Link {handed_over.seq} is not the one that the other side was given.")
    return None


def read_link(body: bytes) -> Written:
    """What the text of a link says.

    :raises NotCanonical: when it is not the text of a link, to the last character.
    """
    said = cast(dict[str, Plain], read(body))
    try:
        written = Written(
            transfer=cast(str, said["transfer"]),
            seq=cast(int, said["seq"]),
            previous=cast(str, said["previous"]),
            recorded=datetime.fromisoformat(cast(str, said["recorded"])),
            fact=_fact(cast(dict[str, Plain], said["fact"])),
        )
        again = canonical(_as_plain(written))
    except (KeyError, TypeError, ValueError, AttributeError, Conflict) as error:
        raise NotCanonical("The text is not that of a link.") from error
    if again != body:
        raise NotCanonical("The text says more than a link of this format can say, or says it otherwise.")
    return written


def fact_in(body: str) -> Fact:
    """The fact in a text that is known to be a link, such as one that the database has just checked."""
    return _fact(json.loads(body)["fact"])


def _fact(said: dict[str, Plain]) -> Fact:
    return Fact(**{name: _READERS[name](value) for name, value in said.items()})  # type: ignore[arg-type]


def _many(read_one: Callable[..., object]) -> Callable[[Plain], object]:
    return lambda value: tuple(read_one(item) for item in cast(list[Plain], value))


def _seen(said: dict[str, Plain]) -> Seen:
    condition = Condition(cast(int, said["condition"])) if "condition" in said else None
    return Seen(cast(str, said["line"]), condition, cast(str, said.get("note", "")))


def _move(said: list[Plain]) -> Move:
    line, source, target, count = said
    return Move(cast(str, line), Account(cast(str, source)), Account(cast(str, target)), cast(int, count))


def _override(said: dict[str, Plain]) -> Override:
    codes = cast(list[str], said.get("codes", []))
    return Override(cast(str, said["by"]), cast(str, said["reason"]), tuple(codes))


_READERS: dict[str, Callable[[Plain], object]] = {
    "step": lambda value: Step(cast(str, value)),
    "side": lambda value: Side(cast(str, value)),
    "by": lambda value: value,
    "on": lambda value: date.fromisoformat(cast(str, value)),
    "moves": _many(_move),
    "seen": _many(_seen),
    "recounts": _many(lambda said: Recount(**said)),
    "lines": _many(lambda line: line),
    "until": lambda value: date.fromisoformat(cast(str, value)),
    "reason": lambda value: value,
    "third_party": lambda value: value,
    "agreement": lambda value: value,
    "written_by": lambda value: Side(cast(str, value)),
    "override": lambda value: _override(cast(dict[str, Plain], value)),
}
