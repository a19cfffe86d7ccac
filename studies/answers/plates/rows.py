"""Loss of plates as plain data; the names of the fields are the keys of results.json, with units."""

from __future__ import annotations

from dataclasses import dataclass

STATED, SLOTTED, OTHER_METAL, ONE_OPENING = "as stated", "slotted", "other metal", "one opening"
"""Ways of passing the cables through."""


@dataclass(frozen=True)
class PlateCable:
    """One cable through a plate, as if no other were there."""

    cable: str
    phase: str
    current_rms_a: float
    """Net current of conductor, screen, sheath and armour, over all frequencies."""
    current_error_a: float
    loss_w: float | None
    """Of one plate of constant permeability; None through an opening for all."""
    saturated_loss_w: float | None
    """Of one plate of saturated steel, its two faces; None without a stated saturation."""


@dataclass(frozen=True)
class PlateWay:
    """Loss of all such plates if the cables pass through in one way."""

    way: str
    """As stated; slotted; other metal; one opening."""
    material: str
    opening_radius_m: float
    loss_w: float
    """Of constant permeability, each cable's as if it were alone in a plate out to its edge; of slots an upper
    figure."""
    shared_loss_w: float | None
    """The same of holes in one large plate, in which the fields of all cables add; None of other ways."""
    least_loss_w: float | None
    """Of slots, without the flux about them: a lower figure; None of other ways."""
    saturated_loss_w: float | None


@dataclass(frozen=True)
class PlateResult:
    """Plates that cables pass through."""

    name: str
    count: int
    openings: str
    """One each, or one for all."""
    material: str
    thickness_m: float
    hole_radius_m: float
    edge_m: float
    slot_width_m: float | None
    encloses_single: bool
    """Whether magnetic metal without a slot encloses single cables."""
    cables: tuple[PlateCable, ...]
    ways: tuple[PlateWay, ...]
    """The stated one first."""
