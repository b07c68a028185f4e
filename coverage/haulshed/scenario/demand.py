"""What a structure asks for."""

from enum import StrEnum

from haulshed.scenario.key import ASSUMED, Section, key


class DemandMethod(StrEnum):
    """Published method by which needed flow is stated."""

    VOLUME = "volume"  #: volume method of the rural water-supply standard
    DWELLING_SPACING = "dwelling_spacing"  #: rating schedule's table by distance between dwellings
    FIXED = "fixed"  #: one figure for all
    COLUMN = "column"  #: the user's own needed_gpm column


class DemandRules(Section):
    """Keys of ``[demand]``."""

    method: DemandMethod = key(DemandMethod.VOLUME, "how needed flow is found", ASSUMED)
    fixed_gpm: float = key(500, "needed flow of every structure, method fixed [gpm]", ASSUMED, gt=0)
