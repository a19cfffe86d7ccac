"""Numbers of sections, tables and figures, in the order of a document."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from string import ascii_uppercase

from studies.text.blocks import Block, Document, Figure, Readable, Section
from studies.text.grid import Grid
from studies.text.table import Table


@dataclass(frozen=True)
class Numbering:
    """Labels of the blocks of one document, such as “Table 3”, and of its sections by their anchors."""

    of_blocks: Mapping[int, str]
    """By identity of the block."""
    of_anchors: Mapping[str, str]

    def label(self, block: Block) -> str:
        """The label of a block; empty for a kind that has none."""
        return self.of_blocks.get(id(block), "")


def numbering(document: Document) -> Numbering:
    """Sections 1, 2 ... and within them 1.1, 1.2 ...; appendices A, B ...; tables and figures through all of them."""
    of_blocks: dict[int, str] = {}
    of_anchors: dict[str, str] = {}
    tables = figures = 0
    for block, number in _walked(document, ""):
        if isinstance(block, Section):
            of_blocks[id(block)] = of_anchors[block.anchor] = number
        elif isinstance(block, Table | Grid) and block.caption:
            tables += 1
            of_blocks[id(block)] = f"Table\u00a0{tables}"
        elif isinstance(block, Figure | Readable):
            figures += 1
            of_blocks[id(block)] = f"Figure\u00a0{figures}"
    return Numbering(of_blocks, of_anchors)


def _walked(blocks: Document, above: str) -> Iterator[tuple[Block, str]]:
    """Each block before those within it, with the number of a section."""
    sections = appendices = 0
    for block in blocks:
        if not isinstance(block, Section):
            yield block, ""
            continue
        if block.is_appendix and not above:
            number = ascii_uppercase[appendices % len(ascii_uppercase)]
            appendices += 1
        else:
            sections += 1
            number = f"{above}.{sections}" if above else str(sections)
        yield block, number
        yield from _walked(block.blocks, number)
