"""What a newcomer learns from --help."""

import pytest
from click.testing import CliRunner

from service.cli import main

NEEDED = {
    "": ("DATABASE_URL", ".traybridge", "traybridge demo", "institutions add", "keys create", "serve", "migrate"),
    "demo": ("invented", "--once", "--data", "--port", "8080", "Ctrl-C", "DATABASE_URL plays no part"),
    "serve": ("Ctrl-C", "traybridge migrate", "traybridge keys create", "127.0.0.1", "8080", "APP_DATABASE_URL"),
    "migrate": ("DATABASE_URL", "again", "Back up"),
    "institutions": ("add", "list"),
    "institutions add": ("CODE", "NAME", "institutionCode", "ISO 3166-1", "NZ"),
    "institutions list": ("codes",),
    "keys": ("create", "list", "revoke"),
    "keys create": ("this once", "read|write|admin", "repeated", "none includes another", "YYYY-MM-DD", "UTC"),
    "keys list": ("newest first", "kept nowhere"),
    "keys revoke": ("at once", "PREFIX", "keys list"),
    "openapi": ("OpenAPI", "YAML"),
}


@pytest.mark.parametrize("command", NEEDED)
def test_the_help_of_a_command_says_what_a_newcomer_needs(command: str) -> None:
    said = CliRunner().invoke(main, [*command.split(), "--help"], terminal_width=200)
    assert said.exit_code == 0
    for words in NEEDED[command]:
        assert words in said.output


def test_no_command_goes_without_this() -> None:
    names = {""}
    for name, command in main.commands.items():
        names |= {name, *(f"{name} {inner}" for inner in getattr(command, "commands", ()))}
    assert names == set(NEEDED)
