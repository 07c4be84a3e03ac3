"""The catalogue of the words of the documents, from what is marked and from the terms: `python -m tests.words`.

It writes `service/rendering/words/documents.pot`, and brings every `.po` file beside it up to date.
"""

from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.messages import TERM
from service.domain.record import visits
from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.record.readings import READING_KINDS
from service.rendering.words import FOLDER

ROOT = Path(__file__).parents[1]
TEMPLATE = FOLDER / "documents.pot"
WRITTEN = datetime(2026, 1, 1, tzinfo=UTC)  # fixed, so that the same words give the same file
CODES = (
    *visits.KINDS, *visits.OUTCOMES, *visits.BY, *visits.EVIDENCE, *visits.MOMENTS, *visits.REASONS, *visits.SYMPTOMS,
    *visits.FOULING.values(), *visits.CONDITIONS, *visits.OBSERVATIONS, *COMPONENT_KINDS,
    *(kind.quantity for kind in READING_KINDS),
)  # fmt: skip


def template() -> Catalog:
    """The template with every message and term."""
    made = Catalog(project="glycol-fleet", creation_date=WRITTEN, revision_date=WRITTEN, charset="utf-8")
    for file, _, message, _, context in extract_from_dir(ROOT / "service", keywords=KEYWORDS):
        if file not in MARKERS:
            made.add(message, context=context)
    for each in terms():
        made.add(each, context=TERM)
    return made


KEYWORDS = {"gettext": None, "ngettext": (1, 2)}
MARKERS = ("domain/messages.py", "rendering/words/__init__.py")  # they hand on what others mark


def terms() -> Iterator[str]:
    """Names and codes as the documents show them: alone, and at the beginning or within a sentence."""
    for code in CODES:
        words = code.replace("_", " ")
        yield from (words, words.removesuffix(" at tap"), words.capitalize())
    for task in CATALOGUE:
        yield from (task.name, task.name.lower())


def written(catalog: Catalog) -> bytes:
    """A catalogue as a file; without places in the code, which change with every line."""
    out = BytesIO()
    write_po(out, catalog, width=120, no_location=True, sort_output=True)
    return out.getvalue()


def main() -> None:
    """Write the template and update the languages."""
    made = template()
    TEMPLATE.write_bytes(written(made))
    for path in FOLDER.glob("*.po"):
        with path.open("rb") as file:
            known = read_po(file)
        known.update(made)
        path.write_bytes(written(known))


if __name__ == "__main__":
    main()
