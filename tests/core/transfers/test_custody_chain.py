"""The chain: the same text for everybody, and nothing changed unseen."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from transfer_builders import fact, in_use, line, loan, moving, take

from service.core.transfers.canonical import LARGEST, NotCanonical, canonical, plain, read
from service.core.transfers.chain import Head, Link, link, read_link, root, verify
from service.core.transfers.facts import Fact, Recount, Seen, Step
from service.core.transfers.ledger import Account, Move
from service.core.transfers.lines import Condition
from service.core.transfers.parties import Side

NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)


def chained(facts: tuple[Fact, ...], transfer: str = "T1") -> list[Link]:
    links: list[Link] = []
    for number, one in enumerate(facts):
        links.append(link(transfer, links[-1] if links else None, one, NOON + timedelta(minutes=number)))
    return links


def a_loan_home() -> list[Link]:
    lent = loan()
    return chained(take(lent, in_use(lent), moving(Step.SENT_BACK, 20, "2026-05-01")))


def test_text_is_written_as_the_canonicalization_scheme_says() -> None:
    """Input and output of the RFC 8785 author's test data: cyberphone/json-canonicalization, structures.json."""
    value = {"1": {"f": {"f": "hi", "F": 5}, "\n": 56}, "10": {}, "": "empty", "a": {}, "111": [{}], "A": {}}
    printed = '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{}],"A":{},"a":{}}'
    assert canonical(value).decode() == printed  # type: ignore[arg-type]


def test_characters_are_escaped_as_the_canonicalization_scheme_says() -> None:
    """RFC 8785, 3.2.2 and 3.2.3: the string and the literals of its sample."""
    value = {"string": '\u20ac$\u000f\u000aA\'B"\\\\"/', "literals": [None, True, False]}
    printed = '{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    assert canonical(value).decode() == printed  # type: ignore[arg-type]


@pytest.mark.parametrize("value", [1.0, float("nan"), LARGEST + 1, "\ud800", {"ö": 1}, b"bytes"])
def test_what_two_readers_could_take_differently_is_never_written(value: object) -> None:
    with pytest.raises(NotCanonical):
        canonical(value)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text", [b'{"b":1,"a":2}', b'{"a": 1}', b'{"a":1,"a":1}', b'{"a":1.0}', b'"\\u00e9"', b"", b"\xff"]
)
def test_the_same_value_written_otherwise_is_not_read(text: bytes) -> None:
    with pytest.raises(NotCanonical):
        read(text)


def test_anybody_can_check_the_chain_with_json_and_sha256_alone() -> None:
    links, previous = a_loan_home(), hashlib.sha256(b'["custody chain",1,"T1"]').hexdigest()
    for number, one in enumerate(links, start=1):
        said = json.loads(one.body)
        assert (said["seq"], said["previous"]) == (number, previous)
        previous = hashlib.sha256(one.body).hexdigest()
    assert previous == links[-1].digest


def test_the_first_link_is_written_so_and_not_otherwise() -> None:
    """Written out by hand from the format: whoever changes it makes format 2."""
    one = link("T1", None, fact(Step.WITHDRAWN, "2026-05-01", reason="no room"), NOON)
    assert one.body.decode() == (
        '{"fact":{"by":"A. Person","on":"2026-05-01","reason":"no room","side":"lender","step":"withdrawn"},'
        f'"format":1,"previous":"{root("T1")}","recorded":"2026-05-01T12:00:00.000000+00:00","seq":1,"transfer":"T1"}}'
    )


def test_a_whole_chain_holds() -> None:
    links = a_loan_home()
    assert verify("T1", links) is None
    assert verify("T1", links, links[3].head) is None
    assert verify("T1", []) is None


@pytest.mark.parametrize("field", ["body", "digest"])
@given(data=st.data())
def test_any_flipped_bit_is_found_where_it_is(field: str, data: st.DataObject) -> None:
    links = a_loan_home()
    at = data.draw(st.integers(0, len(links) - 1))
    stored = links[at].body if field == "body" else links[at].digest.encode()
    place = data.draw(st.integers(0, len(stored) - 1))
    flipped = bytearray(stored)
    flipped[place] ^= 1 << data.draw(st.integers(0, 6 if field == "digest" else 7))
    changed = {"body": bytes(flipped)} if field == "body" else {"digest": flipped.decode()}
    links[at] = replace(links[at], **changed)  # type: ignore[arg-type]
    found = verify("T1", links)
    assert found is not None
    assert found.seq == at + 1


def test_a_link_changed_with_its_hash_is_found_by_the_next_one() -> None:
    links = a_loan_home()
    written = read_link(links[2].body)
    links[2] = link("T1", links[1], replace(written.fact, by="Somebody Else"), written.recorded)
    found = verify("T1", links)
    assert found is not None
    assert (found.seq, "does not follow" in found.sentence) == (4, True)


def test_a_link_taken_out_is_named() -> None:
    links = a_loan_home()
    found = verify("T1", links[:3] + links[4:])
    assert found is not None
    assert found.sentence == "Link 4 is missing; the next one there is 5."


def test_two_links_in_the_wrong_order_are_named() -> None:
    links = a_loan_home()
    links[2], links[3] = links[3], links[2]
    found = verify("T1", links)
    assert found is not None
    assert found.seq == 3


def test_a_tail_cut_off_shows_only_against_the_head_that_was_handed_over() -> None:
    links = a_loan_home()
    kept = links[-1].head
    assert verify("T1", links[:-1]) is None
    found = verify("T1", links[:-1], kept)
    assert found is not None
    assert found.sentence == "The chain ends at 7; the other side was given link 8."


def test_a_chain_written_anew_shows_against_the_head_that_was_handed_over() -> None:
    kept = a_loan_home()[4].head
    anew = chained(tuple(replace(read_link(one.body).fact, by="Somebody Else") for one in a_loan_home()))
    assert verify("T1", anew) is None
    found = verify("T1", anew, kept)
    assert found is not None
    assert found.seq == 5


def test_the_chain_of_one_transfer_is_not_that_of_another() -> None:
    found = verify("T2", a_loan_home())
    assert found is not None
    assert found.seq == 1


def test_a_chain_that_links_well_and_breaks_the_law_of_the_ledger_is_named() -> None:
    lent = loan()
    facts = (*in_use(lent), moving(Step.SENT_BACK, 21, "2026-05-01"))
    found = verify("T1", chained(facts))
    assert found is not None
    assert found.seq == 8
    assert "1 more would leave" in found.sentence


def test_an_honest_hash_over_a_text_of_another_shape_is_named() -> None:
    said = json.loads(a_loan_home()[0].body) | {"remark": "slipped in"}
    body = canonical(said)
    found = verify("T1", [Link(1, body, hashlib.sha256(body).hexdigest())], Head(1, ""))
    assert found is not None
    assert "more than a link of this format can say" in found.sentence


def test_a_time_is_written_in_utc_and_never_without_a_zone() -> None:
    one = fact(Step.ACKNOWLEDGED)
    eastern = datetime(2026, 5, 1, 7, tzinfo=timezone(timedelta(hours=-5)))
    assert link("T1", None, one, eastern) == link("T1", None, one, NOON)
    with pytest.raises(ValueError, match="UTC"):
        link("T1", None, one, datetime(2026, 5, 1, 12))


texts = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20)
counts = st.integers(1, 10**6)
keys = st.sampled_from(["1", "2", "3a"])
accounts = st.lists(st.sampled_from(Account), min_size=2, max_size=2, unique=True)
moves = st.builds(lambda key, both, count: Move(key, *both, count), keys, accounts, counts)
days = st.dates(date(1900, 1, 1), date(2200, 1, 1))


@given(
    st.builds(
        Fact,
        step=st.sampled_from(Step),
        side=st.sampled_from(Side),
        by=texts,
        on=days,
        moves=st.lists(moves, max_size=3).map(tuple),
        seen=st.lists(
            st.builds(Seen, keys, st.none() | st.sampled_from(Condition), st.just("") | texts), max_size=2
        ).map(tuple),
        recounts=st.lists(st.builds(Recount, keys, counts, counts), max_size=2).map(tuple),
        lines=st.lists(keys, max_size=2).map(tuple),
        until=st.none() | days,
        reason=st.just("") | texts,
        third_party=st.none() | texts,
        agreement=st.none() | texts,
        written_by=st.none() | st.sampled_from(Side),
    )
)
def test_a_fact_reads_back_from_its_text_as_it_was(one: Fact) -> None:
    assert read_link(link("T1", None, one, NOON).body).fact == one


def test_a_lot_that_nothing_was_ever_used_on_reads_otherwise_than_one_of_which_nobody_said() -> None:
    said, unsaid = plain(line("1", treatments_used=())), plain(line("1"))
    assert said == {**unsaid, "treatments_used": []}
    assert "groups" not in unsaid
