"""From trays and drawers to a housing plan: bound, search, names, and a last independent look."""

from dataclasses import dataclass, replace

from service.core.housing.bound import lower_bound
from service.core.housing.certificate import Certificate, ColumnCertificate, WholeTrayCertificate
from service.core.housing.effort import Effort, Noticed, Watch
from service.core.housing.greedy import Plan, Used, cost_of, renumbered
from service.core.housing.naming import named_layouts
from service.core.housing.one_drawer import DrawerSearch, Fits
from service.core.housing.placement_check import faults
from service.core.housing.plan import CannotBeHoused, DrawersUsed, HousingPlan, HousingRequest, Layout
from service.core.housing.rooms import Filled, Task, part_of, task_for
from service.core.housing.solve import PlanSearch
from service.core.housing.together import housed_together
from service.core.housing.whole_tray_proof import prove_whole_trays

_FEW_KINDS = 8


class PlanIsWrong(RuntimeError):
    """A plan failed the independent look. It is not shown to anybody; this is a fault of the search."""


def plan_housing(request: HousingRequest, effort: Effort | None = None, watch: Watch | None = None) -> HousingPlan:
    """The cheapest plan found within the effort, and how cheap any plan could be at best.

    The same request gives the same plan, in whatever order its trays and drawers are written, unless ``watch``
    stops the work early: then the best plan so far is returned and marked so.

    :raises CannotBeHoused: when no plan exists, or none was found where drawers are few; the message says why.
    """
    effort, watch = effort or Effort(), watch or Watch()
    stop = Noticed(watch.should_stop)
    watch = replace(watch, should_stop=stop)
    task = task_for(request)
    plan, proofs = _search(task, effort, watch)
    plan, proofs = _settled_in_one_drawer(task, plan, proofs, effort, watch)
    finished = _written(task, plan, proofs)
    finished = replace(finished, stopped_early=stop.was_so and not finished.is_proved)
    if wrong := faults(request, finished):
        raise PlanIsWrong("; ".join(wrong))
    return finished


@dataclass(frozen=True, slots=True)
class _Proofs:
    scales: Certificate
    columns: ColumnCertificate | None = None
    whole_trays: WholeTrayCertificate | None = None
    by_search: int = 0

    @property
    def at_least(self) -> int:
        whole = self.whole_trays.at_least if self.whole_trays else 0
        return max(self.scales.at_least, whole, self.by_search)


def _parted(task: Task) -> Task:
    """The same without groups: whatever is least for it is least for the groups too."""
    if not any(kind.together for kind in task.kinds):
        return task
    return task_for(replace(task.request, trays=tuple(replace(tray, together=None) for tray in task.request.trays)))


def _search(task: Task, effort: Effort, watch: Watch) -> tuple[Plan, _Proofs]:
    """A plan for what is not alone: groups first, then a first plan for the rest, the bound, and a better plan."""
    in_groups: Plan = ()
    rest, numbers = task, tuple(range(len(task.kinds)))
    if any(kind.together for kind in task.kinds):
        in_groups, left = housed_together(task, effort, watch)
        rest, numbers = part_of(_fewer_drawers(task, in_groups), left)
    filled = task.cost_alone - rest.cost_alone + task.at_cost * cost_of(task, in_groups)
    search = PlanSearch(rest, effort, watch, started_with=filled)
    if rest.kinds:
        search.start()
    bound = lower_bound(_parted(task), effort.mixing_work, effort.restarts, watch, search.best_cost)
    if not rest.kinds:
        return in_groups, _Proofs(bound.certificate)
    at_least = (bound.certificate.at_least - filled - rest.cost_alone) // task.at_cost
    search.go_on(at_least, bound if rest is task else None)
    if search.best is None:
        raise CannotBeHoused("The drawers that there are do not suffice for these trays; allow more of them.")
    proofs = _proofs(search, bound.certificate, effort) if rest is task else _Proofs(bound.certificate)
    return (*in_groups, *renumbered(search.best, numbers)), proofs


def _proofs(search: PlanSearch, scales: Certificate, effort: Effort) -> _Proofs:
    whole = None
    if search.whole_trays is not None:
        prices, limits = search.whole_trays
        whole = prove_whole_trays(search.task, prices, limits, effort.search_nodes)
    return _Proofs(scales, search.column_proof, whole if whole and whole.at_least > scales.at_least else None)


def _fewer_drawers(task: Task, plan: Plan) -> Task:
    limits = list(task.limits)
    for used in plan:
        drawer = task.rooms[used.filled.room].drawer
        limit = limits[drawer]
        limits[drawer] = None if limit is None else limit - used.drawers
    return replace(task, limits=tuple(limits))


def _settled_in_one_drawer(
    task: Task, plan: Plan, proofs: _Proofs, effort: Effort, watch: Watch
) -> tuple[Plan, _Proofs]:
    """Two drawers, and no proof that one does not do: look into it exactly, where all drawers cost the same."""
    alike = {room.cost for room in task.rooms} == {1} and not task.alone
    if not alike or cost_of(task, plan) != 2 or proofs.at_least > task.at_cost:
        return plan, proofs
    # A step looks at every kind of tray, so where there are many it takes longer.
    nodes = effort.search_nodes * _FEW_KINDS // max(_FEW_KINDS, len(task.kinds))
    answers = set()
    for at, room in enumerate(task.rooms):
        fits, puts = DrawerSearch(room.width, room.depth, room.pieces, nodes, watch.should_stop).look(task.counts)
        if fits is Fits.YES and task.limits[room.drawer] != 0:
            return (Used(Filled(at, puts), 1),), proofs
        answers.add(fits)
    return plan, proofs if Fits.UNDECIDED in answers else replace(proofs, by_search=2 * task.at_cost)


def _written(task: Task, plan: Plan, proofs: _Proofs) -> HousingPlan:
    layouts = named_layouts(task, plan)
    used = _used(task, layouts)
    costs = {drawer.cost for drawer in task.request.drawers}
    in_columns = max(proofs.columns.at_least, proofs.at_least) if proofs.columns else None
    return HousingPlan(
        layouts=layouts,
        used=used,
        cost=sum(each.cost for each in used),
        at_least=proofs.at_least,
        at_least_in_columns=in_columns,
        certificate=proofs.scales,
        column_certificate=proofs.columns,
        whole_tray_certificate=proofs.whole_trays,
        unit_cost=min(costs) if len(costs) == 1 else None,
        bottom_sheet_nm2=sum(tray.bottom_nm2 * tray.count for tray in task.request.trays),
        heights_unknown=_heights_unknown(task.request, layouts),
        parts_groups=any(kind.together for kind in task.kinds),
    )


def _used(task: Task, layouts: tuple[Layout, ...]) -> tuple[DrawersUsed, ...]:
    used = []
    for drawer in task.request.drawers:
        count = sum(layout.drawers for layout in layouts if layout.drawer == drawer.code)
        if count:
            cabinets = -(-count // drawer.per_cabinet) if drawer.per_cabinet else None
            used.append(DrawersUsed(drawer.code, count, cabinets, count * drawer.cost))
    return tuple(used)


def _heights_unknown(request: HousingRequest, layouts: tuple[Layout, ...]) -> tuple[str, ...]:
    in_use = {layout.drawer for layout in layouts}
    drawers = [each.code for each in request.drawers if each.clear_height_nm is None and each.code in in_use]
    return tuple(sorted([each.code for each in request.trays if each.height_nm is None and each.count] + drawers))
