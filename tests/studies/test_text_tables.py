"""A table told once: the same value, unit and heading in terminal, notebook, page, Markdown and CSV."""

import csv
import io
import math
import re
from dataclasses import dataclass

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studies.text.blocks import Text
from studies.text.csv import as_csv
from studies.text.grid import Cell, Grid, Head, Tone
from studies.text.html import as_html, render
from studies.text.markdown import as_markdown
from studies.text.numbers import difference, rounded_up
from studies.text.table import Column, Table
from studies.text.terminal import as_text
from studies.text.units import CURRENT, FLUX_DENSITY, METRE, NUMBER, OHM_PER_KM, PER_CENT, VOLT_PER_KM, Units
from tests.studies.reading_cells import read_number, tables_of_page, tables_of_terminal


@dataclass(frozen=True)
class Place:
    name: str
    field: float | None
    error: float = 0.0
    formula: float | None = None
    z: complex | None = None
    limit: float | None = None
    good: bool = True
    cables: int = 0


DESK = Place("desk", 3.33114e-7, 8e-11, 4.77e-7, 1e-4 - 2e-4j, 1e-6, True, 12345)
FENCE = Place("fence", 1.2e-5, 3.1e-7, None, 3.333e-4j, 3e-6, False, 7)


def tone(place: Place) -> Tone:
    return "good" if place.good else "bad"


COLUMNS: list[Column[Place]] = [
    Column("Place", lambda p: p.name, brief=True),
    Column("Field", lambda p: p.field, FLUX_DENSITY, error=lambda p: p.error, missed=lambda p: not p.good, brief=True),
    Column("Line formula", lambda p: p.formula, FLUX_DENSITY, brief=True),
    Column("Difference", lambda p: difference(p.formula, p.field), PER_CENT, signed=True),
    Column("Limit", lambda p: p.limit, FLUX_DENSITY, stated=True),
    Column(("R", "X"), lambda p: p.z, OHM_PER_KM, error=lambda p: 3e-7, key="z"),
    Column(("Drop", "angle"), lambda p: p.z, VOLT_PER_KM, polar=True, key="drop"),
    Column("Cables", lambda p: p.cables, NUMBER),
    Column(
        "Verdict", lambda p: "within" if p.good else "above", tone=lambda p: "good" if p.good else "bad", brief=True
    ),
]
TABLE = Table("Places", COLUMNS, [DESK, FENCE], "Said below.")


def shown(grid: Grid) -> list[list[str]]:
    return [[cell if isinstance(cell, str) else cell.text for cell in row] for row in grid.rows]


def test_a_page_shows_every_column_with_its_unit_and_errors_of_the_same_decimals():
    (table,) = tables_of_page(render("Title", "", (TABLE,)))
    assert table.caption == "Places"
    assert table.head == (
        *(("Place", ""), ("Field", "µT"), ("±", "µT"), ("Line formula", "µT"), ("Difference", "%"), ("Limit", "µT")),
        *(("R", "Ω/km"), ("X", "Ω/km"), ("±", "Ω/km"), ("Drop", "V/km"), ("angle", "°"), ("Cables", "–")),
        ("Verdict", ""),
    )
    assert [row[:11] for row in table.rows] == [
        ("desk", "0.33311", "0.00008", "0.4770", "+43.2", "1", "0.1000", "−0.2000", "0.0003", "0.2236", "−63.4"),
        ("fence", "12.0", "0.4\u2009*", "–", "–", "3", "0.0000", "0.3333", "0.0003", "0.3333", "90.0"),
    ]
    assert [row[11:] for row in table.rows] == [("12\u2009345", "within"), ("7", "above")]
    assert table.tones[1][2] == "bad"
    assert [tones[-1] for tones in table.tones] == ["good", "bad"]


def test_a_page_explains_the_mark_only_where_there_is_one():
    assert TABLE.full.note == "Said below. * The error estimate is above what was asked."
    assert Table("Places", COLUMNS, [DESK], "Said below.").full.note == "Said below."


def test_a_terminal_shows_brief_columns_with_three_digits_in_the_same_units():
    assert as_text(TABLE) == (
        "Places\n"
        "Place  Field (µT)  Line formula (µT)  Verdict\n"
        "-----  ----------  -----------------  -------\n"
        "desk        0.333              0.477  within\n"
        "fence      12.0 *                  –  ! above\n"
        "\n"
        "* The error estimate is above what was asked."
    )


def test_a_terminal_has_no_more_digits_than_the_error_allows():
    rows = [Place("a", 3.33114e-7, 4e-8), Place("b", 3.33114e-7, 4e-9), Place("c", 3.33114e-7, 4e-7)]
    table = Table("", COLUMNS[:2], rows, units=Units({FLUX_DENSITY: FLUX_DENSITY[0]}))
    assert [row[1] for row in shown(table.brief)] == ["330", "333", "300"]


def test_a_ratio_left_over_from_rounding_is_zero_per_cent_in_a_terminal_and_a_small_one_keeps_its_digits():
    column: Column[float] = Column("V2/V1", lambda ratio: ratio, PER_CENT, error=lambda ratio: ratio / 10, brief=True)
    table = Table("", [column], [8.9e-17, 4e-5, 6.12e-5])
    assert [row[0] for row in shown(table.brief)] == ["0.00", "0.00", "0.0061"]


def test_a_notebook_shows_what_a_terminal_shows():
    (notebook,) = tables_of_page(as_html(TABLE))
    assert notebook.head == (("Place", ""), ("Field", "µT"), ("Line formula", "µT"), ("Verdict", ""))
    assert [list(row) for row in notebook.rows] == shown(TABLE.brief)


def test_markdown_shows_what_a_page_shows():
    lines = as_markdown(Table("Places", COLUMNS[:4], [DESK, Place("a|b*", None)], "x < y")).splitlines()
    assert lines == [
        "**Places**",
        "",
        "| Place | Field (µT) | ± (µT) | Line formula (µT) | Difference (%) |",
        "| --- | ---: | ---: | ---: | ---: |",
        "| desk | 0.33311 | 0.00008 | 0.4770 | +43.2 |",
        r"| a\|b\* | – | – | – | – |",
        "",
        r"x \< y",
    ]


def test_a_file_holds_every_value_in_si_under_a_name_with_its_unit():
    read = list(csv.DictReader(io.StringIO(as_csv(TABLE))))
    assert list(read[0]) == [
        *("place", "field_t", "field_error_t", "line_formula_t", "difference", "limit_t", "z_ohm_per_m_re"),
        *("z_ohm_per_m_im", "z_error_ohm_per_m", "drop_v_per_m_re", "drop_v_per_m_im", "cables", "verdict"),
    ]
    for row, place in zip(read, TABLE.rows, strict=True):
        assert row["place"] == place.name
        assert float(row["field_t"]) == place.field
        assert float(row["field_error_t"]) == place.error
        assert complex(float(row["z_ohm_per_m_re"]), float(row["z_ohm_per_m_im"])) == place.z
        assert int(row["cables"]) == place.cables
    assert read[1]["line_formula_t"] == ""
    hostile = Table("", COLUMNS[:1], [Place("=1+1", None)])
    assert as_csv(hostile) == "place\n'=1+1\n"


def test_files_tell_columns_of_one_name_apart():
    table = Table("", [COLUMNS[0], COLUMNS[3], COLUMNS[3]], [DESK])
    assert table.names == ("place", "difference", "difference_2")


def test_a_unit_chosen_for_the_result_holds_in_every_table_and_others_suit_their_own():
    units = Units.that_suit({FLUX_DENSITY: [2e-5, 1e-5, None], CURRENT: []})
    amperes: Column[Place] = Column("Current", lambda p: 0.005, CURRENT)
    table = Table("", [*COLUMNS[:2], amperes], [DESK], units=units)
    assert [head.unit for head in table.full.columns] == ["", "µT", "µT", "mA"]
    assert Table("", COLUMNS[:2], [Place("desk", 2e-8)]).full.columns[1].unit == "nT"


def test_columns_of_one_family_share_a_unit_and_of_one_unit_keep_it():
    small: Column[Place] = Column("Other", lambda p: 2e-9, FLUX_DENSITY)
    large: Column[Place] = Column("Own", lambda p: 3e-3, FLUX_DENSITY)
    far: Column[Place] = Column("x", lambda p: 1e-3, METRE)
    heads = Table("", [COLUMNS[0], small, large, far], [DESK]).full.columns
    assert [head.unit for head in heads] == ["", "µT", "µT", "m"]


def test_an_optional_column_vanishes_where_no_row_has_a_value_and_stays_in_the_file():
    column: Column[Place] = Column("Formula", lambda p: p.formula, FLUX_DENSITY, optional=True, brief=True)
    table = Table("", [COLUMNS[0], column], [FENCE])
    assert [head.heading for head in table.full.columns] == ["Place"]
    assert [head.heading for head in table.brief.columns] == ["Place"]
    assert table.names == ("place", "formula_t")
    assert len(Table("", [COLUMNS[0], column], [FENCE, DESK]).full.columns) == 2


def test_a_terminal_may_show_fewer_rows_and_another_heading():
    column: Column[Place] = Column("Line formula", lambda p: p.formula, FLUX_DENSITY, brief=True, short="formula")
    table = Table("", [COLUMNS[0], column], [DESK, FENCE], brief_rows=lambda p: p.good, brief_note="All.")
    assert shown(table.brief) == [["desk", "0.477"]]
    assert table.brief.columns[1] == Head("formula", "µT")
    assert table.full.columns[1].heading == "Line formula"
    assert len(table.full.rows) == 2
    assert (table.brief.note, table.full.note) == ("All.", "")


def test_words_may_stand_in_a_column_of_numbers():
    column: Column[Place] = Column("Away", lambda p: "not exceeded" if p.good else 2.5, METRE, error=lambda p: 0.03)
    table = Table("", [COLUMNS[0], column], [DESK, FENCE])
    assert shown(table.full) == [["desk", "not exceeded", "–"], ["fence", "2.50", "0.03"]]
    assert table.values[0] == ("desk", "not exceeded", 0.03)


def test_a_table_of_text_has_every_renderer_too():
    grid = Grid("Old", (Head("Name"), Head("B", "µT")), (("a", Cell("1.5", "bad")),), "Note.")
    assert as_text(grid) == "Old\nName  B (µT)\n----  ------\na        1.5\n\nNote."
    assert "| a | 1.5 |" in as_markdown(grid)
    assert tables_of_page(as_html(grid))[0].rows == tables_of_page(render("", "", (grid,)))[0].rows == (("a", "1.5"),)


def test_a_complex_number_under_one_heading_is_refused():
    column: Column[Place] = Column("Z", lambda p: p.z, OHM_PER_KM)
    with pytest.raises(TypeError, match="one heading"):
        Table("", [column], [DESK])


NAMES = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z", "M")), min_size=1, max_size=60)
NUMBERS = st.one_of(st.none(), st.floats(1e-12, 1e6), st.floats(-1e6, -1e-12), st.just(0.0))
ERRORS = st.one_of(st.just(0.0), st.just(5e-324), st.floats(1e-18, 1e6))
PLACES = st.lists(st.builds(Place, NAMES, NUMBERS, ERRORS, NUMBERS, limit=NUMBERS), min_size=1, max_size=4)


def number_in(text: str, what: str) -> tuple[float, float]:
    read = read_number(text)
    assert read is not None, f"{what}: {text!r} is no number"
    return read.value, read.half


@settings(max_examples=25, deadline=None)
@given(PLACES)
def test_every_renderer_shows_each_number_within_half_its_last_digit(places: list[Place]):
    table = Table("Places", COLUMNS[:5], places)
    size = next(unit.size for unit in FLUX_DENSITY if unit.symbol == table.full.columns[1].unit)
    (page,) = tables_of_page(render("", "", (table,)))
    (notebook,) = tables_of_page(as_html(table))
    markdown = [re.split(r" (?<!\\)\| ?", line)[1:5] for line in as_markdown(table).splitlines()[4:]]
    rows = [list(row[1:5]) for row in page.rows]
    assert [[cell.replace("\\", "") for cell in row] for row in markdown[: len(places)]] == rows
    # what is below a billionth of the largest of the column reads 0
    left, of_formula = (
        1e-9 * max((abs(value) for value in own if value is not None), default=0.0) / size
        for own in ([place.field for place in places], [place.formula for place in places])
    )
    for place, row, few in zip(places, page.rows, notebook.rows, strict=True):
        step = max(place.error / size, left)  # a value below its error has no digit of its own
        for text, value, room in (
            *((row[1], place.field, step), (few[1], place.field, step)),
            (row[3], place.formula, of_formula),
        ):
            if value is None:
                assert text == "–"
                continue
            number, half = number_in(text, place.name)
            assert abs(number - value / size) <= max(half, room) * (1 + 1e-9) + 1e-12 * abs(value) / size
        if place.field is not None:
            error, _ = number_in(row[2], place.name)
            nothing = 1e-8 * 1e-4 * abs(place.field) / size  # beside the last of five digits, left over from rounding
            assert error >= place.error / size * (1 - 1e-6) or place.error / size < max(nothing, left, 1e-300)


@settings(max_examples=60, deadline=None)
@given(PLACES, st.integers(60, 120))
def test_no_line_of_a_terminal_is_longer_than_it_is_wide(places: list[Place], width: int):
    text = as_text(Table("Places", COLUMNS, places, "Said below. " * 20).full, width)
    assert max(map(len, text.splitlines())) <= width


@pytest.mark.parametrize(("width", "parts"), [(45, 3), (60, 2), (80, 2), (200, 1)])
def test_a_table_that_is_too_wide_goes_on_below_with_its_first_column(width: int, parts: int):
    text = as_text(TABLE.full, width)
    (table,) = tables_of_terminal(text)
    assert [list(row) for row in table.rows] == [
        [cell.replace("\u2009", " ") for cell in row[:-1]] + [last]
        for row, last in zip(shown(TABLE.full), ("within", "! above"), strict=True)
    ]
    starts = [line.split()[0] for line in text.splitlines() if line.startswith(("Place ", "desk"))]
    assert starts == parts * ["Place", "desk"]


def test_names_are_cut_so_that_they_stay_apart():
    names = ["the long name of the place with the number 1", "the long name of the place with the number 2"]
    text = as_text(Table("", COLUMNS[:4], [Place(name, 1e-6, 1e-9, 1e-6) for name in names]).full, 60)
    first = [line.split("  ")[0] for line in text.splitlines() if line.startswith("the long")]
    assert first == ["the long name o…ith the number 1", "the long name o…ith the number 2", *names]


def test_long_words_are_wrapped_below_each_other():
    column: Column[Place] = Column("Why", lambda p: "because the field there is above the limit of the place")
    text = as_text(Table("", [*COLUMNS[:4], column], [DESK]).full, 70)
    assert max(map(len, text.splitlines())) <= 70
    assert " ".join(" ".join(line[46:].split()) for line in text.splitlines()[-3:]).endswith("limit of the place")


def test_words_are_as_wide_as_the_terminal_has_room_for():
    words = Column[Place]("Why", lambda p: "the field there is above the limit of the place by far")
    lines = as_text(Table("", [COLUMNS[0], words], [DESK]).full, 50).splitlines()
    assert lines[-2:] == ["desk   the field there is above the limit of the", "       place by far"]


def test_words_among_numbers_are_wrapped_in_a_narrow_terminal_and_numbers_are_not():
    column: Column[Place] = Column("Away", lambda p: "not exceeded" if p.good else 12345.6, METRE, brief=True)
    table = Table("", [COLUMNS[0], column], [DESK, FENCE])
    lines = [line.split() for line in as_text(table, 18).splitlines()]
    assert lines[2:] == [["desk", "not"], ["exceeded"], ["fence", "12", "300"]]


def test_a_wide_letter_takes_two_places():
    lines = as_text(Table("", COLUMNS[:2], [Place("机房", 1e-6), Place("desk", 1e-6)])).splitlines()
    assert lines[-2] == "机房" + lines[-1][4:]


def test_a_number_that_is_none_is_a_dash():
    column: Column[Place] = Column("Index", lambda p: math.nan, NUMBER)
    assert shown(Table("", [column], [DESK]).full) == [["–"]]


@pytest.mark.parametrize(
    ("bound", "text"), [(0.000201, "0.03"), (0.0123, "2"), (0.01, "1"), (0.0999, "10"), (0.0, "0"), (math.inf, "∞")]
)
def test_a_bound_is_rounded_up_to_one_digit(bound: float, text: str) -> None:
    assert rounded_up(bound, PER_CENT) == text


def test_sentences_and_lists_are_wrapped_to_the_width_of_a_terminal() -> None:
    words = "a field of 2.25\u202fµT " * 9
    assert max(map(len, as_text(words).splitlines())) <= 80
    listed = as_text(Text((words, "short"), "list", "Above all:")).splitlines()
    assert listed[0] == "Above all:"
    assert listed[1].startswith("  a field of 2.25 µT")
    assert listed[2].startswith("    ")
    assert listed[-1] == "  short"


@pytest.mark.parametrize("is_terminal", [True, False], ids=["wide terminal", "file"])
def test_a_wide_table_goes_on_below_only_if_the_terminal_is_not_wider(is_terminal, monkeypatch):
    table = Table("", [Column(f"Quantity-of-number-{k}", lambda p: p.name) for k in range(6)], [DESK])
    monkeypatch.setattr("sys.stdout", Stream(is_terminal))
    monkeypatch.setenv("COLUMNS", "170")
    text = as_text(table)
    assert (len(text.split("\n\n")) == 1) == is_terminal
    assert max(map(len, text.splitlines())) <= (170 if is_terminal else 80)
    assert max(map(len, as_text("word " * 100).splitlines())) <= 80  # sentences stay readable


def test_a_narrow_terminal_gets_eighty_columns(monkeypatch):
    monkeypatch.setattr("sys.stdout", Stream(True))
    monkeypatch.setenv("COLUMNS", "30")
    assert 30 < max(map(len, as_text("word " * 100).splitlines())) <= 80


class Stream(io.StringIO):
    def __init__(self, is_terminal: bool) -> None:
        super().__init__()
        self.is_terminal = is_terminal

    def isatty(self) -> bool:
        return self.is_terminal


@dataclass(frozen=True)
class Spot:
    x: float
    share: float
    current: complex
    loss: float = 1.0


SPOT_COLUMNS: list[Column[Spot]] = [
    Column("x", lambda s: s.x, METRE, digits=3, brief=True),
    Column("Reach", lambda s: s.x, METRE, lambda s: 2e-6, brief=True),
    Column("I2/I1", lambda s: s.share, PER_CENT, lambda s: 0.0, brief=True),
    Column(("R", "X"), lambda s: s.current, OHM_PER_KM, brief=True),
    Column(("Current", "angle"), lambda s: s.current, CURRENT, polar=True, brief=True),
]


def test_a_length_in_metres_is_shown_to_a_tenth_of_a_millimetre():
    table = Table("Spots", SPOT_COLUMNS, [Spot(0.000704, 0.1, 1 + 0j), Spot(-3e-5, 0.1, 1 + 0j), Spot(12.3456, 0, 1j)])
    assert [row[:3] for row in shown(table.full)] == [
        ["0.0007", "0.0007", "0.0001"],
        ["0", "0.0000", "0.0001"],
        ["12.3", "12.346", "0.001"],
    ]
    assert [row[:2] for row in shown(table.brief)] == [["0.0007", "0.0007"], ["0", "0"], ["12.3", "12.3"]]
    assert table.values[0][:2] == (0.000704, 0.000704)


def test_round_off_of_zero_is_zero():
    """Below a billionth of the largest number of its column, in per cent of the whole that the ratio is taken of."""
    table = Table("Spots", SPOT_COLUMNS, [Spot(1, 8.9e-17, 400 + 3e-13j), Spot(1, 2e-9, 1e-10 - 3e-9j)])
    full = shown(table.full)
    assert [row[3:] for row in full] == [
        ["0", "0", "400\u2009000", "0", "0.4000", "0.0"],
        ["2.0\u202f×\u202f10⁻⁷", "0", "0", "0", "0", "–"],
    ]
    assert [row[2:] for row in shown(table.brief)] == [
        ["0.00", "400\u2009000", "0", "0.400", "0.0"],
        ["0.00", "0", "0", "0", "–"],
    ]
    assert table.values[0][3] == 8.9e-17
