"""The main story, told by the Python client that was generated from the contract: publish, describe, ask, read.

python story.py ADDRESS KEY
"""

import sys
from http import HTTPStatus
from typing import Any, TypeVar
from uuid import uuid4

from traybridge_client import AuthenticatedClient
from traybridge_client.api.consignments import create_consignment
from traybridge_client.api.fit_checks import create_fit_check, get_fit_check, get_fit_check_drawing
from traybridge_client.api.storage_systems import create_revision, create_storage_system, publish_revision
from traybridge_client.models import (
    CabinetInput,
    Consignment,
    DrawerStandardInput,
    FitCheck,
    LineInput,
    MaterialsPolicy,
    NewConsignmentInput,
    NewDraftInput,
    NewStorageSystem,
    PinningBottomInput,
    PinsInput,
    Problem,
    Question,
    Revision,
    Sender,
    SizeInput,
    StorageSystem,
    StorageSystemContentInput,
    TrayLotInput,
    TraySeriesInput,
    TrayStandardInput,
)
from traybridge_client.types import Response

Answer = TypeVar("Answer")

FOAM = PinningBottomInput(material="polyethylene_foam", thickness=6, glued_firmly=True)
CONTENT = StorageSystemContentInput(
    cabinets=[
        CabinetInput(
            code="steel",
            name="Steel cabinet",
            count=40,
            opening=SizeInput(width=486, depth=425, height=1985),
            pitch="3 1/4 in",
            support="side_runners",
            runner_ledge=12,
            runners_removable=False,
            doorway="clears_opening",
            free_positions=400,
        )
    ],
    drawers=[
        DrawerStandardInput(code="own", name="Own drawer", inner=SizeInput(width=450, depth=388, height=61)),
    ],
    tray_series=[
        TraySeriesInput(
            code="own",
            name="Own trays",
            play_mm=0.5,
            trays=[
                TrayStandardInput(
                    code="half",
                    name="Half",
                    outer=SizeInput(width=99.5, depth=96.5, height=41),
                )
            ],
        )
    ],
    materials=MaterialsPolicy(accepted_bottoms=["polyethylene_foam"], treatments=["freezing"]),
    growth_reserve_percent=20,
    lid_air_gap_mm=3,
)
HOME_BUILT = LineInput(
    container="drawer",
    count=60,
    description="Home-built drawers, too wide for the cabinets",
    outer=SizeInput(width=500, depth=400, height="60 mm"),
    inner=SizeInput(width=478, depth=378, height=50),
    trays=[TrayLotInput(count=1440, outer=SizeInput(width=110, depth=60, height=40), base=2, bottom=FOAM)],
    pins=PinsInput(length=38, depth=6, metal="stainless_steel"),
    treatments_used=["freezing"],
    closure="flanged_lid",
    pest_signs="none_seen",
    specimens=11800,
)
UNSEEN = LineInput(container="drawer", count=5, description="Nobody has seen them yet")


def told(response: Response[Any], kind: type[Answer]) -> Answer:
    """What was answered, if it is what was hoped for."""
    if not isinstance(response.parsed, kind):
        raise SystemExit(f"{response.status_code}: {response.parsed or response.content!r}")
    return response.parsed


def publish(client: AuthenticatedClient) -> StorageSystem:
    cover = NewStorageSystem(code=f"python-{uuid4().hex[:8]}", name="Main hall", visibility="members")
    system = told(create_storage_system.sync_detailed(client=client, body=cover), StorageSystem)
    draft = create_revision.sync_detailed(system.id, client=client, body=NewDraftInput(content=CONTENT))
    published = publish_revision.sync_detailed(
        system.id, told(draft, Revision).number, client=client, if_match=draft.headers["ETag"]
    )
    assert told(published, Revision).state == "published"
    return system


def main(address: str, key: str) -> None:
    client = AuthenticatedClient(address, key)
    system = publish(client)
    offer = NewConsignmentInput(
        code=f"python-{uuid4().hex[:8]}",
        kind="gift",
        sender=Sender(name="Orla Fennimore"),
        lines=[HOME_BUILT, UNSEEN],
    )
    consignment = told(create_consignment.sync_detailed(client=client, body=offer), Consignment)
    question = Question(consignment_id=consignment.id, storage_system_id=system.id)
    asked = told(create_fit_check.sync_detailed(client=client, body=question), FitCheck)
    check = told(get_fit_check.sync_detailed(asked.id, client=client), FitCheck)
    assert [line.verdict for line in check.answer.lines] == ["by_the_tray", "hold"]
    assert check.answer.lines[1].missing
    assert str(told(get_fit_check_drawing.sync_detailed(check.id, 1, client=client), str)).startswith("<svg")
    nothing = get_fit_check.sync_detailed(uuid4(), client=client)
    assert nothing.status_code is HTTPStatus.NOT_FOUND
    assert told(nothing, Problem).type_ == "/problems/not-found"
    sys.stdout.write("python: by_the_tray, hold\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
