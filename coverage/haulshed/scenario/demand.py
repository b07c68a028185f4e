"""What a structure asks for."""

from enum import StrEnum

from haulshed.scenario.key import ASSUMED, Section, key

#: Source of the dwelling that stands for one of which nothing is known: 50 by 24 ft, two storeys of
#: 8 ft and a ridge 8 ft up.
DWELLING = "dwelling of a worked example of NFPA 1142 / 1231 (value from memory)"


class DemandMethod(StrEnum):
    """Published method by which needed flow is stated."""

    VOLUME = "volume"  #: volume method of the rural water-supply standard
    DWELLING_SPACING = "dwelling_spacing"  #: rating schedule's table by distance between dwellings
    FIXED = "fixed"  #: one figure for all
    COLUMN = "column"  #: the user's own needed_gpm column


class SpacingEdition(StrEnum):
    """Edition of the rating schedule's table by distance between dwellings."""

    BEFORE_2013 = "before_2013"  #: vanshaver.com, read in a secondary copy
    FROM_2013 = "from_2013"  #: value from memory


class DemandRules(Section):
    """Keys of ``[demand]``."""

    method: DemandMethod = key(DemandMethod.VOLUME, "how needed flow is found", ASSUMED)
    fixed_gpm: float = key(500, "needed flow of every structure, method fixed [gpm]", ASSUMED, gt=0)
    default_floor_area_ft2: float = key(
        1200, "ground floor area where a parcel gives none [ft²]", DWELLING, gt=0, le=5_000_000
    )
    default_stories: float = key(2, "storeys where a parcel gives none", DWELLING, gt=0, le=60)
    story_height_ft: float = key(
        8, "height of a storey, where a parcel gives no height [ft]", DWELLING, gt=0, le=60
    )
    roof_rise_ft: float = key(
        8,
        "rise from eaves to ridge, of which half is added to the storeys [ft]",
        DWELLING,
        ge=0,
        le=200,
    )
    default_occupancy_hazard: int = key(
        7,
        "occupancy hazard class where a parcel gives none, 3 (severe) to 7 (light)",
        "dwellings are class 7: NFPA 1142 review slides, studylib 9501653",
        ge=3,
        le=7,
    )
    default_construction_class: float = key(
        1.0,
        "construction class factor where a parcel gives none; 1.5 is wood frame",
        "highest for a dwelling in NFPA 1231 (value from memory); other readings have 1.5",
        ge=0.5,
        le=1.5,
    )
    dwelling_construction_cap: bool = key(
        default=False,
        meaning="construction class counts as 1.0 at most for occupancy hazard class 7 (dwellings)",
        source="sources disagree: NFPA 1231 caps it (value from memory), review slides do not;"
        " without the cap the need is larger",
    )
    default_exposure: bool = key(
        default=False,
        meaning="a structure near enough to be an exposure, where a parcel does not say",
        source=ASSUMED,
    )
    default_spacing_ft: float = key(
        200,
        "distance to the next dwelling, where a parcel gives none [ft]",
        ASSUMED,
        ge=0,
        le=100_000,
    )
    spacing_edition: SpacingEdition = key(
        SpacingEdition.FROM_2013,
        "edition of the table by distance between dwellings: before_2013 or from_2013",
        "the later one (value from memory)",
    )
