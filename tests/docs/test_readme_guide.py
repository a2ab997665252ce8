"""The guide “Join your database in an hour” works as it stands: each snippet of it is run against a live service."""

import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from live_service import live_service
from members import enter
from sqlalchemy import Engine

README = Path(__file__).parents[2] / "README.md"
HEADING = "## Join your database in an hour"


def snippets() -> list[str]:
    """The indented blocks of the guide, in their order."""
    guide = README.read_text("utf-8").split(HEADING, 1)[1].split("\n## ", 1)[0]
    blocks = re.findall(r"(?:(?:^    .*\n)|(?:^\n(?=    )))+", guide, re.MULTILINE)
    return [re.sub(r"^    ", "", block, flags=re.MULTILINE).strip() for block in blocks]


@pytest.fixture
def terminal(database: str, engine: Engine, tmp_path: Path):
    """A shell in an empty folder, which keeps its variables from one snippet to the next."""
    member = enter(engine, "ambleford", "Ambleford Museum", "GB")
    with live_service(database) as address:
        yield Shell(tmp_path, f"SERVICE={address}\nKEY={member.key}\n")


class Shell:
    def __init__(self, folder: Path, known: str) -> None:
        self.folder, self.known = folder, known

    def run(self, snippet: str) -> str:
        settings = "\n".join(re.findall(r"^[A-Z]+=(?:.*\\\n)*.*", snippet, re.MULTILINE))
        script = f"set -euo pipefail\n{self.known}\n{snippet}"
        done = subprocess.run(
            ["bash", "-c", script], cwd=self.folder, capture_output=True, text=True, check=False, timeout=120
        )
        assert done.returncode == 0, (snippet, done.stdout, done.stderr)
        self.known += settings + "\n"
        return done.stdout


def answer_in(output: str) -> dict[str, Any]:
    return dict(json.loads(output))


def test_the_guide_runs_from_top_to_bottom_as_it_is_written(terminal: Shell) -> None:
    named, sent, again, looked_up, changed, lots, back = (terminal.run(snippet) for snippet in snippets()[1:])
    assert answer_in(named)["items"][0]["value"] == "https://ror.org/015hz7p22"
    assert {key: answer_in(sent)[key] for key in ("made", "refused")} == {"made": 2, "refused": 0}
    assert {key: answer_in(again)[key] for key in ("made", "unchanged")} == {"made": 0, "unchanged": 2}
    assert answer_in(looked_up)["items"][0]["kind"] == "consignment"
    assert {"items", "updated_since", "more"} <= answer_in(changed).keys()
    assert answer_in(lots)["lots_stored"] == 2
    assert "lots.csv" in back


def test_the_first_snippet_says_where_the_service_is_and_nothing_else() -> None:
    assert [line.split("=")[0] for line in snippets()[0].splitlines()] == ["SERVICE", "KEY"]
