"""What a reader of an HTML file finds in it."""

import re
from html.parser import HTMLParser

from studies.text.numbers import MINUS


class Page(HTMLParser):
    """What a reader of an HTML file finds in it."""

    def __init__(self, html):
        super().__init__()
        self.html = html
        self.links, self.images, self.tags, self.headings = [], [], [], []
        self.tables, self.listing, self.words = [], "", []
        self.labels = []
        self._open = []
        self._in_label = False
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        self.tags.append(tag)
        self._in_label = tag == "span" and attributes.get("class") == "label"
        self.links += [attributes[key] for key in ("href", "src", "action", "data") if key in attributes]
        if tag == "img":
            self.images.append(attributes)
        else:
            self._open.append(tag)
        if tag == "table":
            self.tables.append({"caption": "", "head": [], "rows": []})
        elif tag == "tr":
            self._row = []
        elif tag in ("td", "th"):
            self._row.append("")

    def handle_endtag(self, tag):
        self._in_label = False
        while self._open and self._open.pop() != tag:
            pass
        if tag == "tr":
            if "thead" in self._open:
                self.tables[-1]["head"] = self._row
            else:
                self.tables[-1]["rows"].append(self._row)

    def handle_data(self, data):
        if self._in_label:
            self.labels.append(data)
            return
        if "pre" in self._open:
            self.listing += data
            return
        if "style" in self._open or "script" in self._open:
            return
        self.words.append(data)
        if "td" in self._open or "th" in self._open:
            self._row[-1] += data
        elif "caption" in self._open:
            self.tables[-1]["caption"] += data
        elif self._open and re.fullmatch(r"h[1-6]", self._open[-1]):
            self.headings.append((int(self._open[-1][1]), data))

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())

    def table(self, caption):
        return next(table for table in self.tables if table["caption"].startswith(caption))


def number(text):
    """The number in a cell."""
    return float(text.replace(MINUS, "-").replace("\u2009", "").replace("*", ""))
