"""The gallery: a page for each example with its question, its file and, if it is solved, picture and answer."""

from __future__ import annotations

from pathlib import Path

from studies.study.file import Study
from studies.study.reading import load
from studies.study.starter import question_of
from studies.text.markdown import escaped

EXAMPLES = Path(__file__).parents[1] / "examples"


def example_pages(place: Path, *, solve: bool) -> dict[str, str]:
    """A page for each example and the gallery that lists them; pictures are written into a folder."""
    place.mkdir(exist_ok=True)
    files = sorted(EXAMPLES.glob("*.toml"))
    pages = {f"examples/{file.stem}.md": _page(file, place, solve=solve) for file in files}
    lines = [
        "# Gallery",
        "",
        "One study for each question; all data are invented. Copy one that is like your own and change it.",
        "",
        "```{toctree}",
        ":maxdepth: 1",
        "",
        *(file.stem for file in files),
        "```",
    ]
    return pages | {"examples/index.md": "\n".join(lines) + "\n"}


def _page(file: Path, place: Path, *, solve: bool) -> str:
    text = file.read_text(encoding="utf-8")
    study = load(file)
    lines = [f"# {escaped(study.title)}", "", escaped(question_of(text)), ""]
    lines += _answer(study, place, file.stem) if solve else _drawing(study, place, file.stem)
    lines += [f"Run it with `trayfield run studies/examples/{file.name}`.", "", "```toml", text.rstrip(), "```", ""]
    return "\n".join(lines)


def _drawing(study: Study, place: Path, stem: str) -> list[str]:
    """The cross-section alone, which needs no solve."""
    from studies.drawing.cross_section import draw_cross_section
    from studies.section.cross_section import cross_section

    draw_cross_section(study, cross_section(study)).savefig(place / f"{stem}.svg", metadata={"Date": None})
    return [f"![Cross-section]({stem}.svg)", ""]


def _answer(study: Study, place: Path, stem: str) -> list[str]:
    """Verdict, cross-section and field map of the solved example."""
    from studies.report.summary import verdict_lines
    from studies.runner import run

    result = run(study)
    lines = [f"> {escaped(line)}" for line in verdict_lines(result)]
    for name, figure in result.figures().items():
        if name in ("cross_section", "field_map"):
            figure.savefig(place / f"{stem}_{name}.svg", metadata={"Date": None})
            lines += ["", f"![{name.replace('_', ' ').capitalize()}]({stem}_{name}.svg)"]
    return [*lines, ""]
