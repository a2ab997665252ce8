"""Handling cautions: what was used is said once, what nobody stated is handled as poison, and gases leave nothing."""

from hypothesis import given
from hypothesis import strategies as st

from service.core.care.cautions import LEAVES_NOTHING, handling_cautions
from service.core.materials import Treatment

lots = st.lists(st.one_of(st.none(), st.lists(st.sampled_from(Treatment), unique=True, max_size=5).map(tuple)))


def test_a_lot_that_nothing_was_used_on_asks_for_no_caution() -> None:
    assert handling_cautions([()]) == ()


def test_a_lot_of_which_nobody_said_anything_is_handled_as_poison() -> None:
    (caution,) = handling_cautions([None])
    assert caution.code == "unknown-residues"
    assert "as poisonous until tested" in caution.sentence
    assert "Local rules" in caution.sentence


def test_naphthalene_on_two_lots_is_said_once() -> None:
    codes = [caution.code for caution in handling_cautions([(Treatment.NAPHTHALENE,), (Treatment.NAPHTHALENE,)])]
    assert codes == ["naphthalene"]


def test_arsenic_brings_the_caution_for_old_residues_with_it() -> None:
    assert [one.code for one in handling_cautions([(Treatment.ARSENIC,)])] == ["arsenic", "old-residues"]


def test_a_freezer_leaves_nothing_on_the_material() -> None:
    assert handling_cautions([(Treatment.FREEZING, Treatment.NITROGEN_ANOXIA)]) == ()


@given(lots)
def test_every_caution_names_what_it_is_about_and_defers_to_local_rules(
    used: list[tuple[Treatment, ...] | None],
) -> None:
    cautions = handling_cautions(used)
    known = {treatment for lot in used if lot for treatment in lot} - LEAVES_NOTHING
    codes = [caution.code for caution in cautions]
    assert set(codes) - {"unknown-residues", "old-residues"} == {treatment.value for treatment in known}
    assert len(codes) == len(set(codes))
    assert all("Local rules" in caution.sentence and caution.source for caution in cautions)
    assert ("unknown-residues" in codes) == (None in used)


@given(lots, lots)
def test_more_lots_never_take_a_caution_away(
    some: list[tuple[Treatment, ...] | None], more: list[tuple[Treatment, ...] | None]
) -> None:
    fewer, all_of_them = handling_cautions(some), handling_cautions([*some, *more])
    assert {caution.code for caution in fewer} <= {caution.code for caution in all_of_them}
