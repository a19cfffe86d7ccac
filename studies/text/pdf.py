"""A page of the report as PDF: tagged, with bookmarks and attachments, the same bytes for the same input."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from hashlib import sha256
from typing import Any

from studies.text.problems import Refused

BEGINNING = datetime(2000, 1, 1, tzinfo=UTC)
"""Stands for the dates of attachments, so that the bytes do not depend on the clock."""
VARIANT = "pdf/ua-1"
"""PDF for universal access: tagged, with title and language, every picture described."""
INSTEAD = "without it, open report.html in a browser and print that to a file"


class NoPdfError(Refused):
    """PDF was asked for where the library that writes it, or one of its system libraries, is missing."""


@cache
def pdf_library() -> Any:
    """The library that writes PDF.

    Raises NoPdfError if it is not installed, or Pango, which it draws text with, is not.
    """
    try:
        import weasyprint
    except ImportError:
        raise NoPdfError(f"--pdf needs WeasyPrint: pip install 'trayfield[pdf]'; {INSTEAD}") from None
    except OSError as error:  # it is there and cannot load a system library
        what = str(error).splitlines()[0]
        packages = "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
        raise NoPdfError(
            f"--pdf needs the system libraries of Pango ({what}); on Debian or Ubuntu install {packages}; {INSTEAD}"
        ) from None
    return weasyprint


def as_pdf(html: str, attachments: Mapping[str, bytes]) -> bytes:
    """A page as PDF.

    `html`: the page, with its pictures inside.
    `attachments`: files to attach, by name.
    """
    library = pdf_library()
    attached = [
        library.Attachment(
            string=content, name=name, description=name, created=BEGINNING, modified=BEGINNING, relationship="Source"
        )
        for name, content in attachments.items()
    ]
    document: bytes = library.HTML(string=html, url_fetcher=library.URLFetcher(allowed_protocols=["data"])).write_pdf(
        pdf_variant=VARIANT,
        attachments=attached,
        attachment_relationships=["Source"] * len(attached),
        finisher=_with_scopes,
        pdf_identifier=sha256(html.encode("utf-8", "backslashreplace")).digest()[:16],
    )
    return document


def _with_scopes(document: Any, pdf: Any) -> None:
    """Say of each heading cell of a table whether it heads a column or a row, as PDF/UA asks; WeasyPrint does not."""
    by_reference = {one.reference: one for one in pdf.objects if one.number is not None}
    for one in pdf.objects:
        if isinstance(one, dict) and one.get("S") == "/TH":
            group = by_reference[by_reference[one["P"]]["P"]]
            heads = "Column" if group["S"] == "/THead" else "Row"
            one["A"] = f"<</O /Table /Scope /{heads}>>"
