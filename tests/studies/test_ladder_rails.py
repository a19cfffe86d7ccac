"""Rails of a ladder: joined by the rungs unless the study insulates them, beside the closed form of their loop."""

import numpy as np
import pytest

from studies.report.assumptions import assumption_section
from studies.report.preview import preview
from studies.result import Result
from studies.section.cross_section import cross_section
from studies.study.file import Study
from studies.study.reading import loads
from studies.text.problems import StudyError
from tests.studies.small_installations import HEAD, bond, channel, circuit, losses, part, solved

SIX = circuit(formation='arrangement = "flat"\nspacing = "40 mm"', at=(-60, 0)) + circuit(
    name="F2", formation='arrangement = "flat"\nspacing = "40 mm"', at=(60, 0)
)
STEEL, ALUMINIUM = "mild-steel", "aluminium-5052"
PIPE = (
    '\n[[metalwork]]\nname = "pipe"\nmaterial = "copper"\nshape = "tube"\nat = ["0 m", "0.3 m"]\n'
    'outside_diameter = "22 mm"\nthickness = "1 mm"\n'
)
INSULATED = 'rails = "insulated"'


def ladder(more: str = "", material: str = ALUMINIUM, flange: str = "") -> str:
    sizes = f'profile = "ladder"\ninside_width = "300 mm"\ninside_height = "100 mm"\n{flange}\n'
    return channel(more, material, sizes)


def rails(*blocks: str, tolerance: str = "5 %") -> Result:
    return solved(SIX, *blocks, tolerance=tolerance)


def rail_loss(result: Result) -> float:
    return losses(result)["T1.left"] + losses(result)["T1.right"]


def stated(*blocks: str) -> Study:
    return loads("\n".join([HEAD, SIX, *blocks]))


def checked(*blocks: str) -> str:
    study = stated(*blocks)
    return " ".join(preview(study, cross_section(study)).split())  # without its line breaks


@pytest.mark.parametrize(("material", "least"), [(STEEL, 10), (ALUMINIUM, 15)])
def test_rungs_close_the_loop_of_the_rails(material: str, least: float) -> None:
    joined, insulated = rails(ladder(material=material)), rails(ladder(INSULATED, material))
    assert part(joined, "T1.left").current_a == pytest.approx(-part(joined, "T1.right").current_a, rel=1e-9)
    assert part(insulated, "T1.left").current_a == part(insulated, "T1.right").current_a == 0
    assert rail_loss(joined) > least * rail_loss(insulated)  # the loop's current, not eddies, makes the loss
    by_hand = rails(ladder(material=material), bond("T1"))
    assert rail_loss(joined) == pytest.approx(rail_loss(by_hand), rel=1e-9)  # the same tie


def test_steel_rails_lose_less_than_aluminium_rails() -> None:
    # resistance limits the loop's current: loss = E^2/R, and steel has 3.4 times the resistance
    assert rail_loss(rails(ladder(material=STEEL))) < 0.6 * rail_loss(rails(ladder()))


def test_a_bond_of_one_rail_holds_both_that_rungs_join() -> None:
    def tie_of(section_text: str) -> set[str]:
        study = stated(ladder(section_text), PIPE, bond("T1.left", "pipe"))
        return next(set(tie.parts) for tie in cross_section(study).ties if "T1.left" in tie.parts)

    assert tie_of("") == {"T1.left", "T1.right", "pipe"}
    assert tie_of(INSULATED) == {"T1.left", "pipe"}


def test_rails_that_rungs_join_are_in_one_bond() -> None:
    second = PIPE.replace('"pipe"', '"rod"').replace('"0.3 m"', '"0.4 m"')
    with pytest.raises(StudyError, match=r"bonds\[2\](.|\n)*rungs join it to T1.left, which is in bonds\[1\]") as told:
        stated(ladder(), PIPE, second, bond("T1.left", "pipe"), bond("T1.right", "rod"))
    assert 'rails = "insulated"' in str(told.value)
    stated(ladder(INSULATED), PIPE, second, bond("T1.left", "pipe"), bond("T1.right", "rod"))


def test_rails_under_a_cover_in_contact_cannot_be_insulated() -> None:
    with pytest.raises(StudyError, match=r"T1. → rails(.|\n)*a cover in contact joins them"):
        stated(ladder(f'{INSULATED}\ncover = "closed"'))


def test_check_and_report_say_what_joins_the_rails() -> None:
    assert "The rungs of T1 join its rails along the run" in checked(ladder())
    assert "without net current" not in checked(ladder())
    apart = checked(ladder(INSULATED))
    assert "rails of T1 are insulated from each other, as the study states" in apart
    assert "without net current: T1.left, T1.right" in apart
    told = [str(assumption_section(rails(ladder(more)))) for more in ("", INSULATED)]
    assert "rungs of T1 join its rails along the run" in told[0]
    assert "Only the conductors and rails that rungs join carry a net current" in told[0]
    assert "rails of T1 are insulated from each other, as the study states" in told[1]


def test_a_ladder_whose_rails_are_joined_to_each_other_alone_is_not_bonded() -> None:
    assert any("not bonded along its run" in caution for caution in rails(ladder()).cautions)
    assert not any("not bonded along its run" in c for c in rails(ladder(), PIPE, bond("T1", "pipe")).cautions)


@pytest.mark.parametrize("more", ["", INSULATED], ids=["joined", "insulated"])
def test_the_closed_form_of_plain_aluminium_rails_is_near(more: str) -> None:
    result = rails(ladder(more), tolerance="2 %")
    for loss in result.losses[-2:]:
        # left out: eddies damp themselves by (w mu0 sigma t h/2)^2/12 = 5 %, the proximity of the rails' own field
        assert loss.formula_loss_w_per_m == pytest.approx(loss.loss_w_per_m, rel=0.06)
        assert loss.formula == "loop of the rails as thin strips under line currents"
    joined = more == ""
    for name in ("T1.left", "T1.right"):
        rail = part(result, name)
        expected = pytest.approx(rail.current_rms_a, rel=0.03) if joined else None
        assert rail.formula_current_rms_a == expected


def test_rails_beyond_the_closed_form_say_why() -> None:
    steel = rails(ladder(material=STEEL)).losses[-1]
    assert "magnetic" in steel.formula_outside_range
    study = stated(ladder(flange='rail_flange = "15 mm"'))
    assert study.trays[0].rail_flange == pytest.approx(0.015)


def test_check_says_that_a_loose_cover_is_insulated_from_its_tray() -> None:
    loose = checked(channel('cover = { gap = "5 mm" }'))
    assert "T1.cover stands 5 mm off T1 and is insulated from it" in loose
    assert "insulated from it" not in checked(channel('cover = { gap = "5 mm" }'), bond("T1", "T1.cover"))
    assert "dividers of T1 are one part with it" in checked(channel('dividers = ["0 mm"]'))
    assert "cover of T1 touches it and is one part with it" in checked(channel('cover = "closed"'))


def test_a_loose_cover_tied_to_its_tray_takes_field_off_and_adds_loss() -> None:
    cover = channel('cover = { gap = "5 mm" }')
    trefoil = circuit(formation='arrangement = "trefoil"')
    loose, tied = (solved(trefoil, cover, more, tolerance="5 %") for more in ("", bond("T1", "T1.cover")))
    both = [losses(result)["T1"] + losses(result)["T1.cover"] for result in (loose, tied)]
    assert both[1] > 1.1 * both[0]  # the assumption states the direction of what is left out
    assert np.abs(part(tied, "T1").current_a) > 10
