"""A small collection for tests: two cabinets in one room, and drawers of six trays each."""

from typing import Any

from flask.testing import FlaskClient

DRAWER = {"style": "amble", "inner_width_mm": 420, "inner_depth_mm": 400}
TRAY = {"width_mm": 130, "depth_mm": 190}


def drawer_row(code: str, position: int, cabinet: str = "A1") -> dict[str, Any]:
    return {"cabinet": cabinet, "drawer": code, "position": position} | DRAWER


def tray_row(code: str, drawer: str | None, **said: Any) -> dict[str, Any]:
    return {"tray": code} | ({"drawer": drawer} if drawer else {}) | TRAY | said


def furnish(client: FlaskClient, *rows: dict[str, Any]) -> Any:
    """One room, two cabinets of ten positions, drawers D1 and D2; and what else is told."""
    given = [
        {"room": "hall", "room_name": "Main hall", "cabinet": "A1", "positions_per_column": 10},
        {"room": "hall", "cabinet": "A2", "positions_per_column": 10},
        drawer_row("D1", 1),
        drawer_row("D2", 2),
        *rows,
    ]
    response = client.post("/v1/inventory", json={"by": "Marta Quillfeather", "rows": given})
    assert response.status_code == 200, response.text
    return response.get_json()


def stands(client: FlaskClient) -> dict[str, tuple[str | None, int | None]]:
    """Where every tray stands."""
    items = client.get("/v1/trays?page_size=200").get_json()["items"]
    return {item["code"]: (item.get("drawer"), item.get("place")) for item in items}


def carry(client: FlaskClient, key: str, *moves: dict[str, Any]) -> Any:
    return client.post(
        "/v1/tray-moves", json={"by": "Tomasz Brill", "moves": list(moves)}, headers={"Idempotency-Key": key}
    )
