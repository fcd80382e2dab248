"""Take the picture of a claim that docs/evidence.md shows: python -m tests.evidence_picture."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import pypdfium2
from PIL import Image

import auditor
from auditor.report import evidence

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "sample_statements" / "2026-03"
TRACKING = "LK220726031600000037"
SCALE, GAP = 0.95, 16


def main() -> None:
    """Write docs/evidence.png: the letter, and the first page of its evidence."""
    originals = {path.name: path for path in SAMPLE.iterdir()}
    with TemporaryDirectory() as folder:
        settings = Path(folder, "shop.toml")
        settings.write_text(
            evidence.EXAMPLE.replace("Norrhaven Parcel", "Larkrise Post").replace("NP-", "LP-"), "utf-8"
        )
        shop = evidence.read_shop(settings)
        audit = auditor.reconcile([SAMPLE])
        done = evidence.write(audit, originals, Path(folder), wanted=[TRACKING], sender=evidence.Sender(shop))
        pdf = pypdfium2.PdfDocument(next(path for path in done.paths if path.suffix == ".pdf"))
        pages = [pdf[at].render(scale=SCALE).to_pil().convert("RGB") for at in range(2)]
        pdf.close()
    width, height = pages[0].size
    both = Image.new("RGB", (2 * width + 3 * GAP, height + 2 * GAP), "#d9d4c6")
    for at, page in enumerate(pages):
        both.paste(page, (GAP + at * (width + GAP), GAP))
    both.quantize(64, dither=Image.Dither.NONE).save(ROOT / "docs" / "evidence.png", optimize=True)


if __name__ == "__main__":
    main()
