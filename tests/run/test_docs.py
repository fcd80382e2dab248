"""Documentation that cannot lie: pages written from the code, links that lead somewhere, examples that run."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from auditor.cli import COMMANDS
from auditor.tariff import load
from auditor.tariff.loading import FORMS
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
