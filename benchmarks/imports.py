"""Importing lots: a Darwin Core archive over HTTP at ever more rows, in rows a second, and the memory it takes.

    python -m benchmarks imports [rows ...]

Each size is imported by a service process of its own, so that its highest memory is that of this import alone.
"""

import os
import sys
import tempfile
import time
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
import requests
from tabulate import tabulate

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "tests")]

from live_service import live_service  # noqa: E402 - the tests' own folder is found first
from members import enter  # noqa: E402

from service.store import embedded, migrate  # noqa: E402
from service.store.session import app_engine  # noqa: E402

SIZES = (1_000, 10_000, 100_000)
_HEADINGS = "occurrenceID,institutionCode,catalogNumber,scientificName,family,individualCount,typeStatus,locality"


def main(arguments: Sequence[str] = ()) -> None:
    """Print the table for the sizes that are given, or the usual ones."""
    sizes = tuple(int(each) for each in arguments) or SIZES
    with tempfile.TemporaryDirectory(prefix="traybridge-bench-") as folder, embedded.running(Path(folder)) as url:
        migrate.upgrade(url)
        engine = app_engine(url)
        member = enter(engine, "bench", "Museum of the bench")
        engine.dispose()
        rows = [_row(url, member.headers, size, Path(folder)) for size in sizes]
    headers = ["rows", "archive", "seconds", "rows/s", "highest memory of a worker", "more than at rest"]
    click.echo(f"Importing a Darwin Core archive over HTTP\n\n{tabulate(rows, headers, disable_numparse=True)}\n")


def _row(url: str, key: dict[str, str], size: int, folder: Path) -> list[str]:
    archive = _archive(folder / f"{size}.zip", size)
    with live_service(url) as address:
        offer: dict[str, Any] = {"code": f"of-{size}", "kind": "gift", "sender": {"name": "Orla Fennimore"}}
        made = requests.post(f"{address}/v1/consignments", json=offer, headers=key, timeout=60)
        made.raise_for_status()
        rest = _highest_mb()
        sent = {**key, "Content-Type": "application/zip", "If-Match": made.headers["ETag"]}
        begun = time.perf_counter()
        with archive.open("rb") as stream:
            told = requests.put(f"{address}{made.headers['Location']}/lots", data=stream, headers=sent, timeout=3600)
        seconds = time.perf_counter() - begun
        told.raise_for_status()
        highest = _highest_mb()
    if told.json()["lots_stored"] != size:
        raise RuntimeError(told.text)
    mb = archive.stat().st_size / 1e6
    return [
        f"{size:,}", f"{mb:.1f} MB", f"{seconds:.1f}", f"{size / seconds:,.0f}", f"{highest:.0f} MB",
        f"{highest - rest:.0f} MB",
    ]  # fmt: skip


def _archive(path: Path, size: int) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed, packed.open("occurrences.csv", "w") as table:
        table.write(f"{_HEADINGS}\n".encode())
        for number in range(size):
            kind = "holotype" if number % 97 == 0 else ""
            what = f"Carabus no{number % 4000},Carabidae,{number % 30 + 1},{kind},Place {number % 500}"
            table.write(f"b:{size}:{number},BEN,{number},{what}\n".encode())
    return path


def _highest_mb() -> float:
    """The highest memory so far of any process below this one that serves."""
    own, highest = str(os.getpid()), 0.0
    parents = {path.name: _status(path) for path in Path("/proc").iterdir() if path.name.isdigit()}
    for status in parents.values():
        above = status.get("PPid", "")
        is_ours = own in (above, parents.get(above, {}).get("PPid")) and "postgres" not in status["Name"]
        if is_ours and "VmHWM" in status:
            highest = max(highest, int(status["VmHWM"].split()[0]) / 1024)
    return highest


def _status(path: Path) -> dict[str, str]:
    try:
        lines = (path / "status").read_text().splitlines()
    except OSError:
        return {}
    return {name: value.strip() for name, _, value in (line.partition(":") for line in lines)}


if __name__ == "__main__":
    main(sys.argv[1:])
