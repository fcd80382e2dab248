"""The words of a claim's letter, from a text template that the seller may replace."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import jinja2
import jinja2.sandbox

OWN = Path(__file__).with_name("letter.txt.j2")
LARGEST = 2**16


class TemplateError(ValueError):
    """A template of the seller's that cannot be used; its text says where and what to do."""


class Letter:
    """A template, ready to be filled for one claim after the other."""

    def __init__(self, path: Path | None = None) -> None:
        """Read the template; ours where no other is given.

        Raises:
            TemplateError: it cannot be opened, or is no template.
        """
        self.path = path or OWN
        environment = jinja2.sandbox.SandboxedEnvironment(
            autoescape=False,  # the letter is plain text, and the PDF takes it as data
            undefined=jinja2.StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        try:
            if self.path.stat().st_size > LARGEST:
                raise TemplateError(f"{self.path} is too large for a letter. Give a text of a page or two.")
            self.template = environment.from_string(self.path.read_text(encoding="utf-8"))
        except OSError as error:
            raise TemplateError(
                f"{self.path} cannot be opened ({error.strerror}). Look at how it is spelled."
            ) from error
        except UnicodeDecodeError as error:
            raise TemplateError(f"{self.path} is no text in UTF-8. Save it as plain text.") from error
        except jinja2.TemplateSyntaxError as error:
            raise TemplateError(f"{self.path}, line {error.lineno}: {error.message}. See docs/evidence.md.") from error

    def written(self, names: Mapping[str, Any]) -> str:
        """The letter with the names filled in; paragraphs are parted by one blank line.

        Raises:
            TemplateError: the template asks for something that there is not.
        """
        try:
            text = self.template.render(names)
        except Exception as error:
            message = f"{self.path}: {error}. The names that can be used are: {', '.join(sorted(names))}."
            raise TemplateError(message) from error
        return "\n\n".join(paragraphs(text)) + "\n"


def paragraphs(text: str) -> list[str]:
    """The paragraphs of a text: what stands between blank lines."""
    found: list[list[str]] = [[]]
    for line in text.splitlines():
        if line.strip():
            found[-1].append(line.strip())
        elif found[-1]:
            found.append([])
    return ["\n".join(lines) for lines in found if lines]
