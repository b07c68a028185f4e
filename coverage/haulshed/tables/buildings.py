"""Buildings: footprints that say where a parcel's main structure stands and how large it is."""

from haulshed.tables.table import Column, Kind, Table

#: A structure smaller than this is a shed [ft²]: it is no parcel's main structure, and no exposure
#: but to occupancy hazard classes 3 and 4 (NFPA 1142 review slides, studylib 9501653).
LEAST_FT2 = 100.0

BUILDINGS = Table(
    name="buildings",
    meaning="Footprints of buildings, from which parcels take what their own table does not say.",
    id_column="",
    columns=(
        Column(
            name="geometry",
            kind=Kind.GEOMETRY,
            required=True,
            meaning="the footprint, a polygon",
        ),
        Column(
            name="stories",
            kind=Kind.NUMBER,
            meaning="storeys; in an OpenStreetMap file the tag building:levels",
            default_says="not known",
        ),
        Column(
            name="height_ft",
            kind=Kind.NUMBER,
            unit="ft",
            meaning="height; in an OpenStreetMap file the tag height, to the top of the roof",
            default_says="not known",
        ),
    ),
)
