"""Documentation that cannot lie: pages written from the code, links that lead somewhere, examples that run."""

from __future__ import annotations

import re
import shlex
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from auditor.cli import COMMANDS, group
from auditor.tariff import load
from auditor.tariff.forms import FORMS
from tests.written_docs import DOCS, PAGES

ROOT = DOCS.parent
TEXTS = [*ROOT.glob("*.md"), *DOCS.glob("*.md")]


@pytest.mark.parametrize("name", PAGES)
def test_pages_written_from_the_code_are_as_the_code_is(name: str) -> None:
    """`python -m tests.written_docs` writes them anew."""
    assert (DOCS / name).read_text(encoding="utf-8") == PAGES[name]()


@pytest.mark.parametrize("page", TEXTS, ids=lambda page: page.name)
def test_links_lead_to_files_that_are_there(page: Path) -> None:
    """Relative links only; others are sources."""
    for target in re.findall(r"\]\(([^)#]+)\)", page.read_text(encoding="utf-8")):
        assert "://" in target or (page.parent / target).exists(), target


def test_every_command_is_told_of_in_the_readme() -> None:
    """And with the name it has."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for command in COMMANDS:
        assert f"auditor {command}" in readme


def test_every_form_of_fact_is_in_the_rules_page() -> None:
    """With the form's name as it stands in the code, NAME for a charge and MEASURE for a measure."""
    page = (DOCS / "rules.md").read_text(encoding="utf-8")
    for form in FORMS:
        name = form.replace("charges.*", "charges.NAME").replace(".*", ".MEASURE")
        assert f"`{name}`" in page, name


def test_the_examples_of_the_rules_page_are_a_tariff_that_loads(tmp_path: Path) -> None:
    """All of its TOML blocks together, but for the one that extends a shipped tariff, which loads by itself."""
    blocks = re.findall(r"```toml\n(.*?)```", (DOCS / "rules.md").read_text(encoding="utf-8"), re.DOTALL)
    own = [block for block in blocks if block.startswith("extends")]
    whole = "\n".join(block for block in blocks if block not in own)
    assert tomllib.loads(whole)["name"]
    for number, text in enumerate([whole, *own]):
        file = tmp_path / f"example{number}.toml"
        file.write_text(text, encoding="utf-8")
        assert load(file).facts


Run = tuple[str, str, str]
"""A command of the front page, what the page shows of its output, and what it printed."""

FRONT_PAGE = (DOCS / "README.md").read_text(encoding="utf-8")
COMMANDS_SHOWN = [line for line in FRONT_PAGE.splitlines() if line.startswith("$ auditor ")]


@pytest.fixture(scope="module")
def front_page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Run]:
    """All commands of the front page, run in its order in one folder with the sample month and the page's own files."""
    folder = tmp_path_factory.mktemp("front-page")
    (folder / "sample_statements").symlink_to(ROOT / "sample_statements")
    for name, text in re.findall(r"```\w+ (\S+)\n(.*?)```", FRONT_PAGE, re.DOTALL):
        (folder / name).write_text(text, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("AUDITOR_BOOK", "book.sqlite")
        patch.setenv("XDG_CONFIG_HOME", str(folder / "settings"))
        return {run[0]: run for block in _console_blocks() for run in _runs(block)}


def _console_blocks() -> list[str]:
    return re.findall(r"```console\n(.*?)```", FRONT_PAGE, re.DOTALL)


def _runs(block: str) -> Iterator[Run]:
    for part in re.split(r"^\$ auditor ", block, flags=re.MULTILINE)[1:]:
        arguments, _, shown = part.partition("\n")
        result = CliRunner().invoke(group, shlex.split(arguments), catch_exceptions=False)
        yield f"$ auditor {arguments}", shown, "".join(f"{line.rstrip()}\n" for line in result.stdout.splitlines())


@pytest.mark.parametrize("command", COMMANDS_SHOWN)
def test_the_front_page_shows_what_its_commands_print(front_page: dict[str, Run], command: str) -> None:
    """Line by line; "…" alone stands for any lines, and at a line's end for the rest of it."""
    _, shown, printed = front_page[command]
    lines = ("(?:.*\n)*?" if line == "…" else _as_pattern(line) for line in shown.splitlines())
    assert re.fullmatch("".join(lines), printed), f"{command} printed\n{printed}"


def _as_pattern(line: str) -> str:
    return re.escape(line.removesuffix("…")) + (".*\n" if line.endswith("…") else "\n")


def test_the_front_page_leads_to_every_page_and_knows_every_command() -> None:
    """So that nothing is to be found only by chance."""
    for page in DOCS.glob("*.md"):
        assert page.name == "README.md" or f"]({page.name})" in FRONT_PAGE, page.name
    for command in COMMANDS:
        assert any(line.startswith(f"$ auditor {command} ") for line in COMMANDS_SHOWN), command
