"""Hold the contract against the last one that was released, and release it.

    python tests/contract/compatible.py            what breaks, and whether a new version carries it
    python tests/contract/compatible.py release    keep the contract as it is now, under its version

Versions are semantic (semver.org, 2.0.0): what breaks somebody's program takes a new major version, and before 1.0.0
a new minor one (its point 4 asks for none; we do).
"""

import sys
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import yaml
from breaking import breaking_changes

OPENAPI = Path(__file__).parents[2] / "openapi"
RELEASED = OPENAPI / "released"
Version = tuple[int, int, int]


def version(text: str) -> Version:
    major, minor, patch = text.split(".")
    return int(major), int(minor), int(patch)


def may_break(old: Version, new: Version) -> bool:
    """Whether a contract of the new version may break what was written against the old one."""
    return new[0] > old[0] or (new[0] == old[0] == 0 and new[1] > old[1])


def read(file: Path) -> dict[str, Any]:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    return dict(yaml.load(file.read_text("utf-8"), loader))  # noqa: S506 - the safe loader, in C where it is there


def last_released(folder: Path = RELEASED) -> Path | None:
    return max(folder.glob("*.yaml"), key=lambda file: version(file.stem), default=None)


def verdict(old: dict[str, Any], new: dict[str, Any], today: date) -> tuple[list[str], bool]:
    """What breaks between two contracts, and whether that is in order."""
    before, after = version(old["info"]["version"]), version(new["info"]["version"])
    if after < before:
        return [f"{new['info']['version']} comes after {old['info']['version']}"], False
    breaks = breaking_changes(old, new, today)
    return breaks, not breaks or may_break(before, after)


def main(command: str = "compare") -> int:
    contract, last = OPENAPI / "openapi.yaml", last_released()
    new = read(contract)
    if command == "release":
        kept = RELEASED / f"{new['info']['version']}.yaml"
        if kept.exists():
            return _say(f"{kept.name} was released already; raise the version in service/__init__.py first.", 1)
        kept.write_bytes(contract.read_bytes())
        return _say(f"{kept.name} is kept. Raise the version in service/__init__.py before the next change.")
    if last is None:
        return _say("Nothing was released yet.")
    breaks, in_order = verdict(read(last), new, datetime.now(UTC).date())
    for change in breaks:
        _say(change)
    carried = f"{new['info']['version']} against {last.stem}: {len(breaks)} breaking changes"
    return _say(f"{carried}, which the new version carries." if breaks and in_order else f"{carried}.", not in_order)


def _say(line: str, status: int = 0) -> int:
    sys.stdout.write(line + "\n")
    return int(status)


if __name__ == "__main__":
    raise SystemExit(main(*sys.argv[1:]))
