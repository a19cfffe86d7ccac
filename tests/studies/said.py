"""The texts of a page or a terminal without their numbers, in the order in which they are read."""

import hashlib
import re
from collections.abc import Iterable
from html.parser import HTMLParser

NUMBER = re.compile(r"[+\-−]?\d(?:[\d.,\u2009\u202f]*\d)?(?:\s?×\s?10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+|e[+-]\d+)?")
SAID = ("h1", "h2", "h3", "h4", "p", "li", "caption", "figcaption", "th", "td", "a")
"""Elements of a page whose texts are read as one."""


FILLED_IN = {"facts", "signatures"}
"""Classes of lists that hold what a study states of its document, and the hash of its file."""


class _Texts(HTMLParser):
    """Collects the texts of elements."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._open: list[str] | None = None
        self._in_label = self._in_form = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._in_label = ("class", "label") in attrs
        if tag == "ul":
            self._in_form = dict(attrs).get("class") in FILLED_IN
        if tag in SAID and not self._in_form:
            self._open = [f"{target} " for name, target in attrs if name == "href" and target]

    def handle_endtag(self, tag: str) -> None:
        self._in_label = False
        if tag == "ul":
            self._in_form = False
        if tag in SAID and self._open is not None:
            self.found.append("".join(self._open))
            self._open = None

    def handle_data(self, data: str) -> None:
        if self._open is not None and not self._in_label:
            self._open.append(data)


def said_by_page(html: str) -> list[str]:
    """Every text of an HTML page with a letter in it."""
    page = _Texts()
    page.feed(html)
    return _masked(page.found)


def said_by_terminal(text: str) -> list[str]:
    """Every line of a text with a letter in it."""
    return _masked(text.splitlines())


def digest(lines: Iterable[str]) -> str:
    """A short mark of texts in their order."""
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:16]


def _masked(texts: Iterable[str]) -> list[str]:
    masked = (" ".join(NUMBER.sub("#", text).split()) for text in texts)
    return [text for text in masked if re.search("[A-Za-z]", text)]
