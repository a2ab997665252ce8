"""Carrying a plan out, step by step, each in its turn: the inventory is true after each of them.

What the plan takes for granted is looked at first, under the lock of the drawers concerned. If somebody has moved
something there since, the plan is overtaken, and nothing is carried.
"""

from collections.abc import Sequence
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions.inventory.places import Places
from service.core.actor import Actor
from service.core.arrangement.inventory import Tray
from service.core.arrangement.plan import Alternative, NewDrawer, Step
from service.core.arrangement.walked_plan import touched_by
from service.core.errors import Conflict, Invalid
from service.store import arrangement_plans as store
from service.store import taxon_sequences
from service.store.arrangement_plans import KeptArrangement
from service.store.inventory import moves, trays
from service.store.inventory.drawers import drawers
from service.store.inventory.drawers import locked as held_drawers
from service.store.inventory.moves import Carried
from service.store.inventory.rooms import cabinets
from service.store.inventory.trays import trays as kept_trays


def carry_out(session: Session, actor: Actor, plan_id: UUID, through: int, by: str) -> None:
    """Carry out all steps up to one, that one too; those that are done already stay done, and once only.

    :raises Conflict: when the plan is overtaken or over.
    """
    asker = actor.own_institution()
    kept = store.locked(session, asker, plan_id)
    if through > kept.step_count:
        raise Invalid("done_through", f"The walking list has {kept.step_count} steps.")
    if kept.is_carried_out or (through <= kept.done_count and kept.step_count):
        return
    if kept.replaced_by is not None:
        raise Conflict("plan_is_over", "Another plan has taken the place of this one.")
    _Carrying(session, asker, kept, by).out(kept.walk.steps[kept.done_count : through])
    store.note_done(session, kept, through, by)
    if through == kept.step_count:
        _finish(session, asker, kept)


def why_overtaken(session: Session, kept: KeptArrangement) -> str | None:
    """What stands elsewhere than the plan takes for granted, in a sentence; ``None`` while all is as it should be."""
    if kept.replaced_by is not None or kept.is_carried_out:
        return None
    places = trays.in_drawers(session, kept.institution_id, _touched(kept))
    standing = {code: [tray.code for tray in here] for code, here in places.items()}
    return _difference(kept, standing) or _trays_elsewhere(session, kept)


def new_drawers_outside(session: Session, kept: KeptArrangement) -> list[NewDrawer]:
    """New drawers of the plan that are there by now and stand in no cabinet: they wait for a position."""
    found = []
    for new in _alternative(kept).new_drawers:
        made = drawers.by_code(session, kept.institution_id, new.key)
        if made is not None and made.position is None:
            found.append(new)
    return found


def _touched(kept: KeptArrangement) -> frozenset[str]:
    return touched_by(_alternative(kept), kept.walk)


def _alternative(kept: KeptArrangement) -> Alternative:
    return kept.content.plan.alternatives[kept.chosen - 1]


def _difference(kept: KeptArrangement, standing: dict[str, list[str]]) -> str | None:
    expected = kept.content.standing_after(kept.chosen, kept.done_count)
    for code in sorted(_touched(kept)):
        planned, here = list(expected.drawers.get(code, ())), standing.get(code, [])
        if planned == here:
            continue
        if gone := [tray for tray in planned if tray not in here]:
            return f"Tray {gone[0]} no longer stands in drawer {code}."
        if come := [tray for tray in here if tray not in planned]:
            return f"Tray {come[0]} has come into drawer {code}."
        return f"The trays of drawer {code} stand in another order."
    return None


def _trays_elsewhere(session: Session, kept: KeptArrangement) -> str | None:
    """Trays that are to come from the bench or from outside, and stand in a drawer by now."""
    coming = {step.tray for step in kept.walk.steps[kept.done_count :] if step.from_drawer is None}
    expected = kept.content.standing_after(kept.chosen, kept.done_count).drawer_of()
    found = trays.of_codes(session, kept.institution_id, coming - expected.keys())
    placed = sorted(code for code, tray in found.items() if tray.drawer is not None)
    return f"Tray {placed[0]} stands in drawer {found[placed[0]].drawer} already." if placed else None


class _Carrying:
    """Some steps of one plan, in one transaction."""

    def __init__(self, session: Session, asker: UUID, kept: KeptArrangement, by: str) -> None:
        self.session, self.asker, self.kept, self.by = session, asker, kept, by
        self.new = {tray.key: tray for tray in kept.content.plan.new_trays}

    def out(self, steps: Sequence[Step]) -> None:
        held_drawers(self.session, self.asker, _touched(self.kept))
        if why := why_overtaken(self.session, self.kept):
            raise Conflict("plan_overtaken", f"{why} Renew the plan: it is then asked again from where all stands.")
        self._provide_drawers(steps)
        self._write_new_trays_down(steps)
        places = Places.held(self.session, self.asker, _passed(steps))
        for code, tray in trays.locked(self.session, self.asker, {step.tray for step in steps}).items():
            places.know(code, tray.id)
        moves.write(self.session, self.asker, [self._carry(places, step) for step in steps])
        places.write(self.session, self.asker)

    def _provide_drawers(self, steps: Sequence[Step]) -> None:
        """Drawers that had to be had are there once something is set into them."""
        to_be_had = {new.key: new for new in _alternative(self.kept).new_drawers}
        wanted = to_be_had.keys() & _passed(steps)
        known = drawers.ids(self.session, self.asker, wanted)
        for code in sorted(wanted - known.keys()):
            _make_drawer(self.session, self.asker, to_be_had[code])

    def _write_new_trays_down(self, steps: Sequence[Step]) -> None:
        coming = {step.tray for step in steps} & self.new.keys()
        known = trays.of_codes(self.session, self.asker, coming)
        for code in sorted(coming - known.keys()):
            kept_trays.make(self.session, self.asker, _said_of(self.new[code]))

    def _carry(self, places: Places, step: Step) -> Carried:
        from_place = places.place_of(step.tray)
        places.take_out(step.tray)
        if step.to_drawer is not None:
            before = None if step.after is None else places.place_of(step.after)
            places.put(step.tray, step.to_drawer, (before or 0) + 1, make_room=True)
        for drawer in {step.from_drawer, step.to_drawer} - {None}:
            places.close_up(drawer or "")
        return Carried(
            tray=step.tray,
            from_drawer=step.from_drawer,
            from_place=from_place,
            to_drawer=step.to_drawer,
            to_place=places.place_of(step.tray),
            moved_by=self.by,
            plan_id=self.kept.id,
            step=step.number,
        )


def _passed(steps: Sequence[Step]) -> set[str]:
    return {drawer for step in steps for drawer in (step.from_drawer, step.to_drawer) if drawer is not None}


def _make_drawer(session: Session, asker: UUID, new: NewDrawer) -> None:
    """A new drawer in its position; where another is still in there, it waits outside until that one is empty."""
    style = new.style
    values = {
        "code": new.key,
        "style": style.code,
        "inner_width_nm": style.inner_width_nm,
        "inner_depth_nm": style.inner_depth_nm,
        "clear_height_nm": style.clear_height_nm,
        "positions": style.positions,
    }
    made = drawers.make(session, asker, values)
    _push_in(session, asker, made, new)


def _push_in(session: Session, asker: UUID, drawer_id: UUID, new: NewDrawer) -> None:
    cabinet = None if new.cabinet is None else cabinets.by_code(session, asker, new.cabinet)
    if cabinet is None or new.position is None:
        return
    kept = drawers.by_id(session, asker, drawer_id)
    with session.begin_nested() as attempt:
        try:
            position = {"cabinet_id": cabinet.id, "position": new.position}
            drawers.change(session, asker, drawer_id, kept.version, position)
        except Conflict:
            attempt.rollback()


def _finish(session: Session, asker: UUID, kept: KeptArrangement) -> None:
    """What holds from now on: names on trays, the sequence, and new drawers in the positions of emptied ones."""
    for code, taxon in kept.content.plan.renamed:
        tray = kept_trays.by_code(session, asker, code)
        if tray is not None:
            kept_trays.change(session, asker, tray.id, tray.version, {"taxon": taxon})
    if kept.content.new_sequence is not None:
        rows = map(taxon_sequences.as_row, kept.content.new_sequence.taxa)
        taxon_sequences.replace(session, asker, rows)
    for new in _alternative(kept).new_drawers:
        _settle(session, asker, kept, new)


def _settle(session: Session, asker: UUID, kept: KeptArrangement, new: NewDrawer) -> None:
    made = drawers.by_code(session, asker, new.key)
    if made is None or made.position is not None or new.position is None:
        return
    place = (new.cabinet, new.position)
    olds = [old.key for old in kept.content.before.drawers if (old.cabinet, old.position) == place]
    for code, standing in trays.in_drawers(session, asker, olds).items():
        found = drawers.by_code(session, asker, code)
        if found is not None and not standing and found.position == new.position:
            drawers.change(session, asker, found.id, found.version, {"cabinet_id": None, "position": None})
    _push_in(session, asker, made.id, new)


def _said_of(tray: Tray) -> dict[str, object]:
    return {
        "code": tray.key,
        "taxon": tray.taxon,
        "label": tray.label,
        "specimens": tray.specimens,
        "curation_level": None if tray.level is None else int(tray.level),
        "width_nm": tray.width_nm,
        "depth_nm": tray.depth_nm,
        "height_nm": tray.height_nm,
    }
