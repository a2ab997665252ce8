"""The packing bench: boxes, cartons and carriers of an institution, and whom to write to about a parcel."""

from uuid import UUID

from service.core.errors import NotAllowed
from service.core.parcels.stock import PackingBench
from service.store import institutions
from service.store import packing_benches as store
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.parcels import KeptBenchSchema, PackingBenchSchema
from service.web.settled_answers import settled_reply
from service.web.transaction import transaction

packing_benches = Blueprint(
    "packing-benches",
    __name__,
    url_prefix="/v1/packing-benches",
    description="What an institution packs with: its stock of boxes and cartons, its carriers' terms, its address.",
)
ONE = "/<uuid:institution_id>"


@packing_benches.operation("GET", ONE, scope="read", returns=KeptBenchSchema, conditional=True)
def get_packing_bench(institution_id: UUID) -> Reply:
    """Read what an institution packs with, and where its parcels go. What it has not stated is left out.

    Everybody with a key may read it: the other side needs the address. Version 0 says that nothing was stated yet.
    """
    with transaction() as session:
        institutions.by_id(session, institution_id)
        found = store.of(session, institution_id)
    return settled_reply(found)


@packing_benches.operation(
    "PUT", ONE, scope="write", body=PackingBenchSchema, returns=KeptBenchSchema, conditional=True,
    errors=["forbidden"],
)  # fmt: skip
def change_packing_bench(institution_id: UUID, body: PackingBench) -> Reply:
    """Write down what you pack with. Plans that were made before keep the bench that they were made from.

    A bench that was never written down has the ETag `"0"`. Carriers' divisors and limits are from their own tariffs:
    write down those that hold for you.
    """
    with transaction() as session:
        institutions.by_id(session, institution_id)
        if institution_id != current_actor().own_institution():
            raise NotAllowed("This is the packing bench of another institution, and only that one can change it.")
        return settled_reply(store.write(session, institution_id, expected_version(), body))
