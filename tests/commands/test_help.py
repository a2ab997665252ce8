"""What a newcomer learns from --help."""

import click
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


def every_command() -> dict[str, click.Command]:
    found = dict(main.commands)
    for name, command in main.commands.items():
        found |= {f"{name} {inner}": sub for inner, sub in getattr(command, "commands", {}).items()}
    return found


@pytest.mark.parametrize("name", sorted(every_command()))
def test_every_command_says_what_it_does_and_what_each_of_its_options_means(name: str) -> None:
    command = every_command()[name]
    assert command.help
    assert command.help.partition("\n\n")[0].rstrip().endswith(".")
    assert [option.name for option in command.params if isinstance(option, click.Option) and not option.help] == []
